package postgres

import (
	"context"
	"encoding/json"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

const eventColumns = "e.stream, e.seq, e.at, e.kind, e.person, e.knowledge, e.body"

// Read gives a stream's snapshot and the events after it, or every event.
func (s *Store) Read(ctx context.Context, stream string, whole bool) (*bot.Snapshot, []bot.Event, error) {
	var at *bot.Snapshot
	after := int64(0)
	if !whole {
		err := s.query(ctx, func(r pgx.Rows) error {
			at = &bot.Snapshot{}
			return r.Scan(&at.Seq, &at.Knowledge, &at.Live, &at.Talk)
		}, "SELECT seq, knowledge, live, talk FROM snapshots WHERE shop = $1 AND stream = $2", s.shop, stream)
		if err != nil {
			return nil, nil, s.translate("reading", err)
		}
		if at != nil {
			after = at.Seq
		}
	}
	events, err := s.events(ctx, "SELECT "+eventColumns+" FROM events e WHERE e.shop = $1 AND e.stream = $2 AND e.seq > $3 ORDER BY e.seq", s.shop, stream, after)
	return at, events, err
}

func (s *Store) events(ctx context.Context, sql string, args ...any) ([]bot.Event, error) {
	var out []bot.Event
	err := s.query(ctx, func(r pgx.Rows) error {
		e, err := scanEvent(r)
		out = append(out, e)
		return err
	}, sql, args...)
	return out, s.translate("reading", err)
}

func scanEvent(r pgx.CollectableRow) (bot.Event, error) {
	var e bot.Event
	var at time.Time
	var body []byte
	if err := r.Scan(&e.Stream, &e.Seq, &at, &e.Kind, &e.Person, &e.Knowledge, &body); err != nil {
		return e, err
	}
	e.At = at.UTC()
	if err := json.Unmarshal(body, &e); err != nil {
		return e, fmt.Errorf("event %d of %s: %w", e.Seq, e.Stream, err)
	}
	return e, nil
}

// Restore hands over the open streams.
func (s *Store) Restore(ctx context.Context, take func(string, *bot.Snapshot, []bot.Event) error) error {
	type opened struct {
		id    string
		at    *bot.Snapshot
		after []bot.Event
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	var err error
	if s.seen, err = s.snapshot(ctx); err != nil {
		return s.translate("reading", err)
	}
	var streams []opened
	byID := map[string]int{}
	err = s.query(ctx, func(r pgx.Rows) error {
		var o opened
		var seq *int64
		var version *string
		var live []byte
		if err := r.Scan(&o.id, &seq, &version, &live); err != nil {
			return err
		}
		if seq != nil {
			o.at = &bot.Snapshot{Seq: *seq, Knowledge: *version, Live: live}
		}
		byID[o.id] = len(streams)
		streams = append(streams, o)
		return nil
	}, `SELECT s.id, n.seq, n.knowledge, n.live FROM streams s LEFT JOIN snapshots n ON n.shop = s.shop AND n.stream = s.id
		WHERE s.shop = $1 AND s.closed IS NULL ORDER BY s.id COLLATE "C"`, s.shop)
	if err == nil {
		err = s.query(ctx, func(r pgx.Rows) error {
			e, err := scanEvent(r)
			if i, ok := byID[e.Stream]; ok && err == nil && (streams[i].at == nil || e.Seq > streams[i].at.Seq) {
				streams[i].after = append(streams[i].after, e)
			}
			return err
		}, "SELECT "+eventColumns+` FROM streams s LEFT JOIN snapshots n ON n.shop = s.shop AND n.stream = s.id
			JOIN events e ON e.shop = s.shop AND e.stream = s.id AND e.seq > coalesce(n.seq, 0)
			WHERE s.shop = $1 AND s.closed IS NULL ORDER BY e.stream, e.seq`, s.shop)
	}
	if err != nil {
		return s.translate("reading", err)
	}
	for i := range streams {
		if err := take(streams[i].id, streams[i].at, streams[i].after); err != nil {
			return err
		}
		streams[i] = opened{} // handed over
	}
	return nil
}

// JobAt names the job of a thread.
func (s *Store) JobAt(ctx context.Context, p bot.Place) (string, error) {
	var job string
	err := s.query(ctx, func(r pgx.Rows) error { return r.Scan(&job) },
		"SELECT job FROM places WHERE shop = $1 AND channel = $2 AND conversation = $3 AND thread = $4", s.shop, p.Channel, p.Conversation, p.Thread)
	return job, s.translate("reading", err)
}

// Newest names the job opened last.
func (s *Store) Newest(ctx context.Context) (string, error) {
	var job string
	err := s.query(ctx, func(r pgx.Rows) error { return r.Scan(&job) },
		`SELECT id FROM streams WHERE shop = $1 AND id NOT LIKE '@%' ORDER BY opened DESC, id COLLATE "C" DESC LIMIT 1`, s.shop)
	return job, s.translate("reading", err)
}

// Pending lists what waits to be delivered.
func (s *Store) Pending(ctx context.Context) ([]bot.Outbound, error) {
	return s.outbound(ctx, "SELECT body FROM outbox WHERE shop = $1 AND state = 'pending' ORDER BY n", s.shop)
}

// Sent gives the message a channel has an id of.
func (s *Store) Sent(ctx context.Context, channel, external string) (*bot.Outbound, error) {
	if external == "" {
		return nil, nil
	}
	return newest(s.outbound(ctx, "SELECT body FROM outbox WHERE shop = $1 AND channel = $2 AND external = $3 AND external <> '' ORDER BY n DESC LIMIT 1", s.shop, channel, external))
}

// LastAnswer gives the newest answer to a place without a thread.
func (s *Store) LastAnswer(ctx context.Context, p bot.Place) (*bot.Outbound, error) {
	return newest(s.outbound(ctx, "SELECT body FROM outbox WHERE shop = $1 AND channel = $2 AND answers = $3 ORDER BY n DESC LIMIT 1", s.shop, p.Channel, p.Conversation))
}

func newest(found []bot.Outbound, err error) (*bot.Outbound, error) {
	if err != nil || len(found) == 0 {
		return nil, err
	}
	return &found[0], nil
}

func (s *Store) outbound(ctx context.Context, sql string, args ...any) ([]bot.Outbound, error) {
	var out []bot.Outbound
	err := s.query(ctx, func(r pgx.Rows) error {
		var body []byte
		if err := r.Scan(&body); err != nil {
			return err
		}
		var m bot.Outbound
		err := json.Unmarshal(body, &m)
		out = append(out, m)
		return err
	}, sql, args...)
	return out, s.translate("reading", err)
}

// Closings gives the events jobs were closed by, in the order of their times.
func (s *Store) Closings(ctx context.Context) ([]bot.Event, error) {
	return s.events(ctx, "SELECT "+eventColumns+" FROM events e WHERE e.shop = $1 AND e.kind = 'closed' ORDER BY e.at, e.n", s.shop)
}

// Jobs lists the jobs in the record, open and closed, by name.
func (s *Store) Jobs(ctx context.Context) ([]string, error) {
	var out []string
	err := s.query(ctx, func(r pgx.Rows) error {
		var id string
		err := r.Scan(&id)
		out = append(out, id)
		return err
	}, `SELECT id FROM streams WHERE shop = $1 AND id NOT LIKE '@%' ORDER BY id COLLATE "C"`, s.shop)
	return out, s.translate("reading", err)
}
