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

const eventColumns = "e.stream, e.seq, e.at, e.kind, e.person, e.knowledge, e.body"

// Read gives a stream's snapshot and the events after it, or every event.
func (s *Store) Read(ctx context.Context, stream string, whole bool) (*bot.Snapshot, []bot.Event, error) {
	var at *bot.Snapshot
	after := int64(0)
	if !whole {
		n := &bot.Snapshot{}
		err := s.readers.QueryRowContext(ctx, "SELECT seq, knowledge, live, talk FROM snapshots WHERE stream = ?", stream).
			Scan(&n.Seq, &n.Knowledge, &n.Live, &n.Talk)
		switch {
		case err == nil:
			at, after = n, n.Seq
		case !errors.Is(err, sql.ErrNoRows):
			return nil, nil, s.translate("reading", err)
		}
	}
	events, err := s.events(ctx, "SELECT "+eventColumns+" FROM events e WHERE e.stream = ? AND e.seq > ? ORDER BY e.seq", stream, after)
	return at, events, err
}

func (s *Store) events(ctx context.Context, query string, args ...any) ([]bot.Event, error) {
	var out []bot.Event
	err := s.each(ctx, func(e bot.Event) error {
		out = append(out, e)
		return nil
	}, query, args...)
	return out, err
}

func (s *Store) each(ctx context.Context, take func(bot.Event) error, query string, args ...any) error {
	rows, err := s.readers.QueryContext(ctx, query, args...)
	if err != nil {
		return s.translate("reading", err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		e, err := scanEvent(rows)
		if err != nil {
			return s.translate("reading", err)
		}
		if err := take(e); err != nil {
			return err
		}
	}
	return s.translate("reading", rows.Err())
}

func scanEvent(rows *sql.Rows) (bot.Event, error) {
	var e bot.Event
	var at int64
	var body sql.RawBytes
	if err := rows.Scan(&e.Stream, &e.Seq, &at, &e.Kind, &e.Person, &e.Knowledge, &body); err != nil {
		return e, err
	}
	e.At = time.UnixMicro(at).UTC()
	if err := json.Unmarshal(body, &e); err != nil {
		return e, fmt.Errorf("event %d of %s: %w", e.Seq, e.Stream, err)
	}
	return e, nil
}

// Restore hands over the open streams.
func (s *Store) Restore(ctx context.Context, take func(string, *bot.Snapshot, []bot.Event) error) error {
	streams, err := s.openStreams(ctx)
	if err != nil {
		return s.translate("reading", err)
	}
	next := 0
	// hand over every stream before the named one, with what was gathered for its own.
	var gathered []bot.Event
	flush := func(upTo string) error {
		for next < len(streams) && (upTo == "" || streams[next].id < upTo) {
			st := streams[next]
			next++
			if err := take(st.id, st.at, gathered); err != nil {
				return err
			}
			gathered = nil
		}
		return nil
	}
	last := ""
	err = s.each(ctx, func(e bot.Event) error {
		if e.Stream != last {
			if err := flush(e.Stream); err != nil {
				return err
			}
			last = e.Stream
		}
		gathered = append(gathered, e)
		return nil
	}, "SELECT "+eventColumns+` FROM streams s LEFT JOIN snapshots n ON n.stream = s.id
		CROSS JOIN events e ON e.stream = s.id AND e.seq > coalesce(n.seq, 0) WHERE s.closed IS NULL ORDER BY s.id, e.seq`)
	if err != nil {
		return err
	}
	return flush("")
}

type opened struct {
	id string
	at *bot.Snapshot
}

func (s *Store) openStreams(ctx context.Context) ([]opened, error) {
	rows, err := s.readers.QueryContext(ctx, `SELECT s.id, n.seq, n.knowledge, n.live
		FROM streams s LEFT JOIN snapshots n ON n.stream = s.id WHERE s.closed IS NULL ORDER BY s.id`)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var out []opened
	for rows.Next() {
		var o opened
		var seq sql.NullInt64
		var version sql.NullString
		var live []byte
		if err := rows.Scan(&o.id, &seq, &version, &live); err != nil {
			return nil, err
		}
		if seq.Valid {
			o.at = &bot.Snapshot{Seq: seq.Int64, Knowledge: version.String, Live: live}
		}
		out = append(out, o)
	}
	return out, rows.Err()
}

// JobAt names the job of a thread.
func (s *Store) JobAt(ctx context.Context, p bot.Place) (string, error) {
	var job string
	err := s.readers.QueryRowContext(ctx, "SELECT job FROM places WHERE channel = ? AND conversation = ? AND thread = ?",
		p.Channel, p.Conversation, p.Thread).Scan(&job)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return job, s.translate("reading", err)
}

// Newest names the job opened last.
func (s *Store) Newest(ctx context.Context) (string, error) {
	var job string
	err := s.readers.QueryRowContext(ctx, "SELECT id FROM streams WHERE id NOT LIKE '@%' ORDER BY opened DESC, id DESC LIMIT 1").Scan(&job)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return job, s.translate("reading", err)
}

// Pending lists what waits to be delivered.
func (s *Store) Pending(ctx context.Context) ([]bot.Outbound, error) {
	return s.outbound(ctx, "SELECT body FROM outbox WHERE state = 'pending' ORDER BY n")
}

// Sent gives the message a channel has an id of.
func (s *Store) Sent(ctx context.Context, channel, external string) (*bot.Outbound, error) {
	if external == "" {
		return nil, nil
	}
	found, err := s.outbound(ctx, "SELECT body FROM outbox WHERE external = ? ORDER BY n DESC", external)
	for i := range found {
		if found[i].Channel == channel {
			return &found[i], err
		}
	}
	return nil, err
}

// LastAnswer gives the newest answer to a place without a thread.
func (s *Store) LastAnswer(ctx context.Context, p bot.Place) (*bot.Outbound, error) {
	found, err := s.outbound(ctx, "SELECT body FROM outbox WHERE answers = ? ORDER BY n DESC LIMIT 1", p.Channel+"\x00"+p.Conversation)
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return &found[0], nil
}

func (s *Store) outbound(ctx context.Context, query string, args ...any) ([]bot.Outbound, error) {
	rows, err := s.readers.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, s.translate("reading", err)
	}
	defer func() { _ = rows.Close() }()
	var out []bot.Outbound
	for rows.Next() {
		var body sql.RawBytes
		var m bot.Outbound
		if err := rows.Scan(&body); err != nil {
			return nil, s.translate("reading", err)
		}
		if err := json.Unmarshal(body, &m); err != nil {
			return nil, s.translate("reading", err)
		}
		out = append(out, m)
	}
	return out, s.translate("reading", rows.Err())
}

// Rows asks the file in SQL and hands over what it says, row by row, for a move to
// another record.
func (s *Store) Rows(ctx context.Context, query string, take func(values []any) error) error {
	rows, err := s.readers.QueryContext(ctx, query)
	if err != nil {
		return s.translate("reading", err)
	}
	defer func() { _ = rows.Close() }()
	columns, err := rows.Columns()
	if err != nil {
		return s.translate("reading", err)
	}
	for rows.Next() {
		values, at := make([]any, len(columns)), make([]any, len(columns))
		for i := range values {
			at[i] = &values[i]
		}
		if err := rows.Scan(at...); err != nil {
			return s.translate("reading", err)
		}
		if err := take(values); err != nil {
			return err
		}
	}
	return s.translate("reading", rows.Err())
}
