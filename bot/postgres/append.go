package postgres

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"proveout/bot"
)

// Append writes an entry. A canceled context is looked at before the write only: once
// begun, an entry is answered for.
func (s *Store) Append(ctx context.Context, e *bot.Entry) error {
	b := s.writing()
	if e.Key != (bot.Key{}) {
		b.Queue(`WITH new AS (INSERT INTO inbound (shop, channel, id, at) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING RETURNING 1)
			SELECT CASE WHEN NOT EXISTS (SELECT FROM new) THEN refuse('`+seen+`') END`, s.shop, e.Key.Channel, e.Key.ID, e.At)
	}
	if e.Speaker != "" && !s.alone {
		s.speaks(b, e)
	}
	// Locks are taken in one order everywhere, so that nobody waits in a circle: a person's,
	// the streams', the lanes'.
	var out []lettered
	for one := e; one != nil; one = one.With {
		if err := s.entry(b, one); err != nil {
			return s.translate("writing", err)
		}
		for i := range one.Out {
			out = append(out, lettered{&one.Out[i], one.Stream, one.At})
		}
	}
	slices.SortStableFunc(out, func(a, b lettered) int { return cmp.Compare(a.Lane(), b.Lane()) })
	for _, m := range out {
		if err := s.put(b, m); err != nil {
			return s.translate("writing", err)
		}
	}
	err := s.translate("writing", s.write(ctx, b))
	if err == nil {
		signal(s.wrote)
	}
	return err
}

// speaks refuses the entry where its speaker has done something since that it does not
// know of. His lock keeps what he does in a row.
func (s *Store) speaks(b *pgx.Batch, e *bot.Entry) {
	b.Queue("SELECT pg_advisory_xact_lock("+personLock+")", s.shop, e.Speaker)
	b.Queue(`SELECT CASE WHEN coalesce((SELECT stream <> $3::text OR seq <> $4::bigint FROM events WHERE shop = $1 AND person = $2 ORDER BY n DESC LIMIT 1),
			$3::text <> '') THEN refuse('`+behind+`') END`,
		s.shop, e.Speaker, e.Since.Stream, e.Since.Seq)
}

// entry adds what an entry does to its stream. The first statement may refuse it; what
// follows is then undone with the transaction.
func (s *Store) entry(b *pgx.Batch, e *bot.Entry) error {
	if e.Stream == "" {
		return nil
	}
	s.advance(b, e)
	for i := range e.Events {
		if err := s.event(b, e, i); err != nil {
			return err
		}
	}
	if e.Words != "" && len(e.Events) > 0 {
		s.findable(b, e.Stream, e.After+1, e.Words)
	}
	if n := e.Snapshot; n != nil {
		b.Queue(`INSERT INTO snapshots (shop, stream, seq, knowledge, live, talk) VALUES ($1, $2, $3, $4, $5, $6) ON CONFLICT (shop, stream)
			DO UPDATE SET seq = excluded.seq, knowledge = excluded.knowledge, live = excluded.live, talk = excluded.talk`,
			s.shop, e.Stream, n.Seq, n.Knowledge, n.Live, n.Talk)
	}
	return nil
}

// advance moves the stream on from where the entry says it stands.
func (s *Store) advance(b *pgx.Batch, e *bot.Entry) {
	var closed any
	if e.Closed {
		closed = e.At
	}
	const unless = ` SELECT CASE WHEN NOT EXISTS (SELECT FROM moved) THEN refuse('` + behind + `') END`
	to := e.After + int64(len(e.Events))
	if e.After == 0 {
		b.Queue("WITH moved AS (INSERT INTO streams (shop, id, seq, opened, closed) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING RETURNING 1)"+unless,
			s.shop, e.Stream, to, e.At, closed)
		return
	}
	b.Queue("WITH moved AS (UPDATE streams SET seq = $3, closed = $4 WHERE shop = $1 AND id = $2 AND seq = $5 RETURNING 1)"+unless, s.shop, e.Stream, to, closed, e.After)
}

func (s *Store) event(b *pgx.Batch, e *bot.Entry, i int) error {
	v := &e.Events[i]
	body, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("writing an event down: %w", err)
	}
	b.Queue("INSERT INTO events (shop, stream, seq, at, kind, person, knowledge, body) VALUES ($1, $2, $3, $4, $5, $6, $7, $8)",
		s.shop, e.Stream, e.After+int64(i)+1, v.At, string(v.Kind), v.Person, v.Knowledge, body)
	const place = "INSERT INTO places (shop, channel, conversation, thread, job) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING"
	p := v.Place
	switch {
	case p.Thread == "":
	case v.Kind == bot.EventOpened: // two may open a job there at once, and the second has not seen the first
		b.Queue("WITH new AS ("+place+" RETURNING 1) SELECT CASE WHEN NOT EXISTS (SELECT FROM new) THEN refuse('"+behind+"') END", s.shop, p.Channel, p.Conversation, p.Thread, e.Stream)
	case v.Kind == bot.EventThread:
		b.Queue(place, s.shop, p.Channel, p.Conversation, p.Thread, e.Stream)
	}
	return nil
}

// lettered is a message with the stream it is of and when it was written.
type lettered struct {
	*bot.Outbound
	stream string
	at     time.Time
}

// put puts a message at the end of its lane.
func (s *Store) put(b *pgx.Batch, m lettered) error {
	body, err := json.Marshal(m.Outbound)
	if err != nil {
		return fmt.Errorf("writing a message down: %w", err)
	}
	b.Queue(`WITH at AS (INSERT INTO lanes (shop, lane, puts) VALUES ($1, $8, 1) ON CONFLICT (shop, lane) DO UPDATE SET puts = lanes.puts + 1 RETURNING puts)
		INSERT INTO outbox (shop, id, stream, at, state, channel, answers, body, lane, place) SELECT $1, $2, $3, $4, 'pending', $5, $6, $7, $8, puts FROM at`,
		s.shop, m.ID, m.stream, m.at, m.Channel, answers(m.Outbound), body, m.Lane())
	return nil
}

// answers names the conversation of a message that answers in no thread.
func answers(m *bot.Outbound) *string {
	if m.Reply == nil || m.Thread != "" {
		return nil
	}
	return &m.Conversation
}

// Settle notes a delivery, and the channel's id of it as a key. A lane whose last message
// it was is gone.
func (s *Store) Settle(ctx context.Context, d bot.Delivery) error {
	state := "sent"
	if d.Dead != "" {
		state = "dead"
	}
	b := s.writing()
	if d.External != "" {
		b.Queue("INSERT INTO inbound (shop, channel, id, at) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING", s.shop, d.Channel, d.External, d.At)
	}
	b.Queue(`WITH done AS (UPDATE outbox SET state = $3, attempts = $4, settled = $5, external = $6, reason = $7 WHERE shop = $1 AND id = $2 RETURNING lane, place)
		DELETE FROM lanes l USING done WHERE l.shop = $1 AND l.lane = done.lane AND l.holder = $8 AND l.puts = done.place`,
		s.shop, d.ID, state, d.Attempts, d.At, d.External, d.Dead, s.number).Exec(func(tag pgconn.CommandTag) error {
		if tag.RowsAffected() == 0 { // more was put into it meanwhile
			signal(s.woken)
		}
		return nil
	})
	return s.translate("writing", s.write(ctx, b))
}

// signal tells somebody who looks when he is ready.
func signal(c chan<- struct{}) {
	select {
	case c <- struct{}{}:
	default:
	}
}
