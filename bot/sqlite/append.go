package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"proveout/bot"
)

// together is the most entries committed at once.
const together = 128

// request is an entry, or how a delivery went, waiting to be committed.
type request struct {
	entry    *bot.Entry
	delivery bot.Delivery  // when entry is nil
	done     chan struct{} // closed when it was committed or refused
	err      error
}

// Append writes an entry. Those that wait while another commit is on its way to the
// disk are committed together, by whoever comes first. A canceled context is looked
// at before the write only: once begun, an entry is answered for.
func (s *Store) Append(ctx context.Context, e *bot.Entry) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	return s.commitOf(ctx, s.enqueue(&request{entry: e}))
}

// settleWithin is how long a delivery waits for an entry to be committed with: nobody
// waits for it, and a commit of its own would hold up those who do.
const settleWithin = 20 * time.Millisecond

// Settle notes a delivery.
func (s *Store) Settle(ctx context.Context, d bot.Delivery) error {
	r := s.enqueue(&request{delivery: d})
	t := time.NewTimer(settleWithin)
	defer t.Stop()
	select {
	case <-r.done:
		return r.err
	case <-t.C:
		return s.commitOf(ctx, r)
	}
}

func (s *Store) enqueue(r *request) *request {
	r.done = make(chan struct{})
	s.mu.Lock()
	defer s.mu.Unlock()
	s.waiting = append(s.waiting, r)
	return r
}

func (r *request) isDone() bool {
	select {
	case <-r.done:
		return true
	default:
		return false
	}
}

// commitOf has a request committed, with those that wait before it.
func (s *Store) commitOf(ctx context.Context, r *request) error {
	s.writing.Lock()
	defer s.writing.Unlock()
	for !r.isDone() {
		s.mu.Lock()
		n := min(together, len(s.waiting))
		batch := s.waiting[:n:n]
		s.waiting = s.waiting[n:]
		s.mu.Unlock()
		s.commit(context.WithoutCancel(ctx), batch)
	}
	return r.err
}

// commit writes a batch in one transaction. An entry that is refused leaves the
// others alone; a failure of the file fails them all.
func (s *Store) commit(ctx context.Context, batch []*request) {
	err := s.transaction(ctx, func() error {
		for _, r := range batch {
			if r.entry == nil {
				if err := s.settle(ctx, &r.delivery); err != nil {
					return err
				}
				continue
			}
			refused, err := s.both(ctx, r.entry)
			if err != nil {
				return err
			}
			r.err = refused
		}
		return nil
	})
	err = s.translate("writing", err)
	for _, r := range batch {
		if err != nil {
			r.err = err
		}
		close(r.done)
	}
}

// transaction does what is written together on the one connection that writes; its
// lock is held. Statements prepared on a connection are used again as they are only
// outside the library's own transactions.
func (s *Store) transaction(ctx context.Context, do func() error) error {
	if s.added.event == nil {
		return &bot.Error{Code: bot.CodeReadOnly, Text: "the record is open for reading only"}
	}
	if _, err := s.added.begin.ExecContext(ctx); err != nil {
		return err
	}
	err := do()
	if err == nil {
		_, err = s.added.commit.ExecContext(ctx)
	}
	if err != nil {
		// The file may have ended the transaction itself, so that there is none left.
		_, _ = s.added.rollback.ExecContext(ctx)
	}
	return err
}

func (s *Store) settle(ctx context.Context, d *bot.Delivery) error {
	state := "sent"
	if d.Dead != "" {
		state = "dead"
	}
	if _, err := s.added.settle.ExecContext(ctx, state, d.Attempts, micros(d.At), d.External, d.Dead, d.ID); err != nil || d.External == "" {
		return err
	}
	_, err := s.added.mine.ExecContext(ctx, d.Channel, d.External, micros(d.At))
	return err
}

// both writes an entry and the one that goes with it, or neither.
func (s *Store) both(ctx context.Context, e *bot.Entry) (refused, err error) {
	if e.With == nil {
		return s.write(ctx, e)
	}
	if _, err := s.conn.ExecContext(ctx, "SAVEPOINT entry"); err != nil {
		return nil, err
	}
	for _, one := range []*bot.Entry{e, e.With} {
		if refused, err = s.write(ctx, one); err != nil {
			return nil, err
		}
		if refused != nil {
			_, err = s.conn.ExecContext(ctx, "ROLLBACK TO entry")
			break
		}
	}
	if err != nil {
		return nil, err
	}
	_, err = s.conn.ExecContext(ctx, "RELEASE entry")
	return refused, err
}

// write adds one entry, or says why it is refused before anything of it is written.
func (s *Store) write(ctx context.Context, e *bot.Entry) (refused, err error) {
	if e.Key != (bot.Key{}) {
		seen, err := s.added.seen(ctx, e.Key)
		if err != nil {
			return nil, err
		}
		if seen {
			return &bot.Error{Code: bot.CodeSeen, Text: "the message is in the record already"}, nil
		}
	}
	if e.Stream != "" {
		moved, err := s.advance(ctx, e)
		if err != nil || moved != nil {
			return moved, err
		}
	}
	if e.Key != (bot.Key{}) {
		if _, err := s.added.key.ExecContext(ctx, e.Key.Channel, e.Key.ID, micros(e.At)); err != nil {
			return nil, err
		}
	}
	for i := range e.Events {
		if err := s.event(ctx, e, i); err != nil {
			return nil, err
		}
	}
	if e.Words != "" && len(e.Events) > 0 {
		if err := s.findable(ctx, e.Stream, e.After+1, e.Words); err != nil {
			return nil, err
		}
	}
	for i := range e.Out {
		body, err := json.Marshal(&e.Out[i])
		if err != nil {
			return nil, fmt.Errorf("writing a message down: %w", err)
		}
		if _, err := s.added.out.ExecContext(ctx, e.Out[i].ID, e.Stream, micros(e.At), body, answers(&e.Out[i])); err != nil {
			return nil, err
		}
	}
	if n := e.Snapshot; n != nil {
		if _, err := s.added.snapshot.ExecContext(ctx, e.Stream, n.Seq, n.Knowledge, n.Live, n.Talk); err != nil {
			return nil, err
		}
	}
	return nil, nil
}

// advance moves the stream on from where the entry says it stands.
func (s *Store) advance(ctx context.Context, e *bot.Entry) (moved, err error) {
	var closed any
	if e.Closed {
		closed = micros(e.At)
	}
	to := e.After + int64(len(e.Events))
	var res sql.Result
	if e.After == 0 {
		res, err = s.added.open.ExecContext(ctx, e.Stream, to, micros(e.At), closed)
	} else {
		res, err = s.added.advance.ExecContext(ctx, to, closed, e.Stream, e.After)
	}
	if err != nil {
		return nil, err
	}
	n, err := res.RowsAffected()
	if err != nil {
		return nil, err
	}
	if n == 0 {
		return &bot.Error{Code: bot.CodeConflict, Text: fmt.Sprintf("%s has moved on from event %d", e.Stream, e.After)}, nil
	}
	return nil, nil
}

func (s *Store) event(ctx context.Context, e *bot.Entry, i int) error {
	v := &e.Events[i]
	body, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("writing an event down: %w", err)
	}
	_, err = s.added.event.ExecContext(ctx, e.Stream, e.After+int64(i)+1, micros(v.At), string(v.Kind), v.Person, v.Knowledge, body)
	if err != nil || v.Kind != bot.EventOpened && v.Kind != bot.EventThread || v.Place.Thread == "" {
		return err
	}
	_, err = s.added.place.ExecContext(ctx, v.Place.Channel, v.Place.Conversation, v.Place.Thread, e.Stream)
	return err
}

// answers names where a message went that answers in no thread.
func answers(m *bot.Outbound) string {
	if m.Reply == nil || m.Thread != "" {
		return ""
	}
	return m.Channel + "\x00" + m.Conversation
}

// statements are those every append uses, prepared once.
type statements struct {
	begin, commit, rollback, has, key, mine, open, advance, event, place, out, snapshot, settle, found *sql.Stmt
}

func prepare(ctx context.Context, c *sql.Conn) (statements, error) {
	var a statements
	for _, p := range []struct {
		at   **sql.Stmt
		text string
	}{
		{&a.begin, "BEGIN IMMEDIATE"},
		{&a.commit, "COMMIT"},
		{&a.rollback, "ROLLBACK"},
		{&a.has, "SELECT 1 FROM inbound WHERE channel = ? AND id = ?"},
		{&a.key, "INSERT INTO inbound (channel, id, at) VALUES (?, ?, ?)"},
		{&a.mine, "INSERT INTO inbound (channel, id, at) VALUES (?, ?, ?) ON CONFLICT DO NOTHING"},
		{&a.open, "INSERT INTO streams (id, seq, opened, closed) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING"},
		{&a.advance, "UPDATE streams SET seq = ?, closed = ? WHERE id = ? AND seq = ?"},
		{&a.event, "INSERT INTO events (stream, seq, at, kind, person, knowledge, body) VALUES (?, ?, ?, ?, ?, ?, ?)"},
		{&a.place, "INSERT INTO places (channel, conversation, thread, job) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING"},
		{&a.out, "INSERT INTO outbox (id, stream, at, state, body, answers) VALUES (?, ?, ?, 'pending', ?, ?)"},
		{&a.snapshot, "INSERT INTO snapshots (stream, seq, knowledge, live, talk) VALUES (?, ?, ?, ?, ?) ON CONFLICT (stream) DO UPDATE SET seq = excluded.seq, knowledge = excluded.knowledge, live = excluded.live, talk = excluded.talk"},
		{&a.settle, "UPDATE outbox SET state = ?, attempts = ?, settled = ?, external = ?, reason = ? WHERE id = ?"},
		{&a.found, "INSERT INTO found (rowid, words) SELECT n, ? FROM events WHERE stream = ? AND seq = ?"},
	} {
		var err error
		if *p.at, err = c.PrepareContext(ctx, p.text); err != nil { //nolint:sqlclosecheck // they live as long as the connection, which closes them
			return a, err
		}
	}
	return a, nil
}

func (a *statements) seen(ctx context.Context, k bot.Key) (bool, error) {
	var one int
	err := a.has.QueryRowContext(ctx, k.Channel, k.ID).Scan(&one)
	if errors.Is(err, sql.ErrNoRows) {
		return false, nil
	}
	return err == nil, err
}

func micros(t time.Time) int64 { return t.UnixMicro() }
