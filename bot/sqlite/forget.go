package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"proveout/bot"
)

// ofStream are the tables that hold what belongs to a stream, with their column.
func ofStream() [][2]string {
	return [][2]string{{"events", "stream"}, {"outbox", "stream"}, {"snapshots", "stream"}, {"places", "job"}, {"streams", "id"}}
}

// ForgetJob erases a job: everything but that its messages were taken once, by their
// ids. CodeNotFound where there is no such job.
func (s *Store) ForgetJob(ctx context.Context, id string) error {
	return s.alone(ctx, "erasing", func() error {
		n, err := s.erase(ctx, id)
		if err == nil && n == 0 {
			return &bot.Error{Code: bot.CodeNotFound, Text: "there is no job " + id + " in the record"}
		}
		return err
	})
}

// Expire erases the jobs closed before a time and says how many. They are erased one
// after another, so that messages do not wait for all of them.
func (s *Store) Expire(ctx context.Context, before time.Time) (int, error) {
	ids, err := s.names(ctx, "SELECT id FROM streams WHERE closed < ? ORDER BY closed", micros(before))
	if err != nil {
		return 0, err
	}
	for i, id := range ids {
		if err := s.alone(ctx, "erasing", func() error { _, err := s.erase(ctx, id); return err }); err != nil {
			return i, err
		}
	}
	return len(ids), nil
}

// alone does something in a transaction of its own.
func (s *Store) alone(ctx context.Context, doing string, do func() error) error {
	s.writing.Lock()
	defer s.writing.Unlock()
	return s.translate(doing, s.transaction(context.WithoutCancel(ctx), do))
}

// unfind takes away what a stream is found by.
const unfind = "DELETE FROM found WHERE rowid IN (SELECT n FROM events WHERE stream = ?)"

func (s *Store) erase(ctx context.Context, id string) (int64, error) {
	if _, err := s.conn.ExecContext(ctx, unfind, id); err != nil {
		return 0, err
	}
	erased := int64(0)
	for _, t := range ofStream() {
		res, err := s.conn.ExecContext(ctx, "DELETE FROM "+t[0]+" WHERE "+t[1]+" = ?", id)
		if err != nil {
			return 0, err
		}
		if erased, err = res.RowsAffected(); err != nil {
			return 0, err
		}
	}
	return erased, nil
}

// ForgetPerson erases a person from the record: his name, his words, his pictures and
// where he wrote from. The jobs he spoke on stay, with their answers, but can no
// longer be worked out again. They must be closed first: CodeInvalid.
func (s *Store) ForgetPerson(ctx context.Context, person string) error {
	return s.alone(ctx, "erasing", func() error {
		streams, err := s.namesBy(ctx, s.conn, "SELECT DISTINCT stream FROM events WHERE person = ? AND stream NOT LIKE '@%'", person)
		if err != nil {
			return err
		}
		n, err := s.erase(ctx, "@"+person)
		if err != nil {
			return err
		}
		if _, err := s.conn.ExecContext(ctx, "DELETE FROM passes WHERE person = ?", person); err != nil {
			return err
		}
		if len(streams) == 0 && n == 0 {
			return &bot.Error{Code: bot.CodeNotFound, Text: "nobody called " + person + " is in the record"}
		}
		for _, stream := range streams {
			if err := s.forgetOn(ctx, stream, person); err != nil {
				return err
			}
		}
		// Notices that belong to no job may name anybody.
		_, err = s.conn.ExecContext(ctx, "DELETE FROM outbox WHERE stream = '' OR stream LIKE '@%'")
		return err
	})
}

func (s *Store) forgetOn(ctx context.Context, stream, person string) error {
	var closed sql.NullInt64
	err := s.conn.QueryRowContext(ctx, "SELECT closed FROM streams WHERE id = ?", stream).Scan(&closed)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	if !closed.Valid {
		return bot.StillOn(stream, person)
	}
	rows, err := s.conn.QueryContext(ctx, "SELECT "+eventColumns+" FROM events e WHERE e.stream = ? ORDER BY e.seq", stream)
	if err != nil {
		return err
	}
	events, err := scanEvents(rows)
	if err != nil {
		return err
	}
	if _, err := s.conn.ExecContext(ctx, unfind, stream); err != nil {
		return err
	}
	bot.Unname(events, person)
	for i := range events {
		e := &events[i]
		if e.Kind != bot.EventAnswered { // answers are not found by their own words
			if err := s.findable(ctx, stream, e.Seq, strings.Join([]string{stream, e.Name, e.Text, e.Fault}, " ")); err != nil {
				return err
			}
		}
		body, err := json.Marshal(e)
		if err != nil {
			return err
		}
		if _, err := s.conn.ExecContext(ctx, "UPDATE events SET person = ?, body = ? WHERE stream = ? AND seq = ?", e.Person, body, stream, e.Seq); err != nil {
			return err
		}
	}
	for _, table := range []string{"snapshots WHERE stream", "outbox WHERE stream", "places WHERE job"} {
		if _, err := s.conn.ExecContext(ctx, "DELETE FROM "+table+" = ?", stream); err != nil {
			return err
		}
	}
	return nil
}

// Jobs lists the jobs in the record, open and closed, by name.
func (s *Store) Jobs(ctx context.Context) ([]string, error) {
	return s.names(ctx, "SELECT id FROM streams WHERE id NOT LIKE '@%' ORDER BY id")
}

// Closings gives the events jobs were closed by, in the order of their times.
func (s *Store) Closings(ctx context.Context) ([]bot.Event, error) {
	return s.events(ctx, "SELECT "+eventColumns+" FROM events e WHERE e.kind = 'closed' ORDER BY e.at, e.n")
}

func (s *Store) names(ctx context.Context, query string, args ...any) ([]string, error) {
	out, err := s.namesBy(ctx, s.readers, query, args...)
	return out, s.translate("reading", err)
}

// querier is a database or one connection of it.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

func (s *Store) namesBy(ctx context.Context, q querier, query string, args ...any) ([]string, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { _ = rows.Close() }()
	var out []string
	for rows.Next() {
		var id string
		if err := rows.Scan(&id); err != nil {
			return nil, fmt.Errorf("reading a name: %w", err)
		}
		out = append(out, id)
	}
	return out, rows.Err()
}

func scanEvents(rows *sql.Rows) ([]bot.Event, error) {
	defer func() { _ = rows.Close() }()
	var out []bot.Event
	for rows.Next() {
		e, err := scanEvent(rows)
		if err != nil {
			return nil, err
		}
		out = append(out, e)
	}
	return out, rows.Err()
}
