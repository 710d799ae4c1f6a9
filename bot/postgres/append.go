package postgres

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"proveout/bot"
)

// Append writes an entry. A canceled context is looked at before the write only: once
// begun, an entry is answered for.
func (s *Store) Append(ctx context.Context, e *bot.Entry) error {
	return s.translate("writing", s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		if err := s.write(ctx, tx, e); err != nil || e.With == nil {
			return err
		}
		return s.write(ctx, tx, e.With)
	}))
}

// write adds one entry, in one way to the database and back. The first statements say
// whether it is refused; what follows them is then undone with the transaction.
func (s *Store) write(ctx context.Context, tx pgx.Tx, e *bot.Entry) error {
	b := &pgx.Batch{}
	wants := func(one bool, refusal *bot.Error) func(pgconn.CommandTag) error {
		return func(tag pgconn.CommandTag) error {
			if one && tag.RowsAffected() == 0 {
				return refusal
			}
			return nil
		}
	}
	if e.Key != (bot.Key{}) {
		b.Queue("INSERT INTO inbound (shop, channel, id, at) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING", s.shop, e.Key.Channel, e.Key.ID, e.At).
			Exec(wants(true, &bot.Error{Code: bot.CodeSeen, Text: "the message is in the record already"}))
	}
	if e.Stream != "" {
		s.advance(b, e).Exec(wants(true, &bot.Error{Code: bot.CodeConflict, Text: fmt.Sprintf("%s has moved on from event %d", e.Stream, e.After)}))
	}
	for i := range e.Events {
		if err := s.event(b, e, i); err != nil {
			return err
		}
	}
	if e.Words != "" && len(e.Events) > 0 {
		s.findable(b, e.Stream, e.After+1, e.Words)
	}
	for i := range e.Out {
		body, err := json.Marshal(&e.Out[i])
		if err != nil {
			return fmt.Errorf("writing a message down: %w", err)
		}
		b.Queue("INSERT INTO outbox (shop, id, stream, at, state, channel, answers, body) VALUES ($1, $2, $3, $4, 'pending', $5, $6, $7)",
			s.shop, e.Out[i].ID, e.Stream, e.At, e.Out[i].Channel, answers(&e.Out[i]), body)
	}
	if n := e.Snapshot; n != nil {
		b.Queue(`INSERT INTO snapshots (shop, stream, seq, knowledge, live, talk) VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (shop, stream)
			DO UPDATE SET seq = excluded.seq, knowledge = excluded.knowledge, live = excluded.live, talk = excluded.talk`,
			s.shop, e.Stream, n.Seq, n.Knowledge, n.Live, n.Talk)
	}
	return tx.SendBatch(ctx, b).Close() // it gives the first error, a refusal before what it led to
}

// advance moves the stream on from where the entry says it stands.
func (s *Store) advance(b *pgx.Batch, e *bot.Entry) *pgx.QueuedQuery {
	var closed any
	if e.Closed {
		closed = e.At
	}
	to := e.After + int64(len(e.Events))
	if e.After == 0 {
		return b.Queue("INSERT INTO streams (shop, id, seq, opened, closed) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING", s.shop, e.Stream, to, e.At, closed)
	}
	return b.Queue("UPDATE streams SET seq = $3, closed = $4 WHERE shop = $1 AND id = $2 AND seq = $5", s.shop, e.Stream, to, closed, e.After)
}

func (s *Store) event(b *pgx.Batch, e *bot.Entry, i int) error {
	v := &e.Events[i]
	body, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("writing an event down: %w", err)
	}
	b.Queue("INSERT INTO events (shop, stream, seq, at, kind, person, knowledge, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
		s.shop, e.Stream, e.After+int64(i)+1, v.At, string(v.Kind), v.Person, v.Knowledge, body)
	if (v.Kind == bot.EventOpened || v.Kind == bot.EventThread) && v.Place.Thread != "" {
		b.Queue("INSERT INTO places (shop, channel, conversation, thread, job) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING",
			s.shop, v.Place.Channel, v.Place.Conversation, v.Place.Thread, e.Stream)
	}
	return nil
}

// answers names the conversation of a message that answers in no thread.
func answers(m *bot.Outbound) *string {
	if m.Reply == nil || m.Thread != "" {
		return nil
	}
	return &m.Conversation
}

// Settle notes a delivery, and the channel's id of it as a key.
func (s *Store) Settle(ctx context.Context, d bot.Delivery) error {
	state := "sent"
	if d.Dead != "" {
		state = "dead"
	}
	return s.translate("writing", s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		b := &pgx.Batch{}
		b.Queue("UPDATE outbox SET state = $3, attempts = $4, settled = $5, external = $6, reason = $7 WHERE shop = $1 AND id = $2",
			s.shop, d.ID, state, d.Attempts, d.At, d.External, d.Dead)
		if d.External != "" {
			b.Queue("INSERT INTO inbound (shop, channel, id, at) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING", s.shop, d.Channel, d.External, d.At)
		}
		return tx.SendBatch(ctx, b).Close()
	}))
}
