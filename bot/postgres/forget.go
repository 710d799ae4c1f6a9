package postgres

import (
	"context"
	"encoding/json"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

// ofStream are the tables that hold what belongs to a stream, with their column.
func ofStream() [][2]string {
	return [][2]string{{"events", "stream"}, {"outbox", "stream"}, {"snapshots", "stream"}, {"found", "stream"}, {"places", "job"}, {"streams", "id"}}
}

// erase takes streams away and says how many there were.
func (s *Store) erase(ctx context.Context, tx pgx.Tx, ids []string) (int, error) {
	erased := 0
	for _, t := range ofStream() {
		tag, err := tx.Exec(ctx, "DELETE FROM "+t[0]+" WHERE shop = $1 AND "+t[1]+" = ANY ($2)", s.shop, ids)
		if err != nil {
			return 0, err
		}
		erased = int(tag.RowsAffected())
	}
	return erased, nil
}

// erasing does something that erases in a transaction of its own.
func (s *Store) erasing(ctx context.Context, do func(context.Context, pgx.Tx) error) error {
	return s.translate("erasing", s.transaction(ctx, do))
}

// ForgetJob erases a job: everything but that its messages were taken once, by their
// ids. CodeNotFound where there is no such job.
func (s *Store) ForgetJob(ctx context.Context, id string) error {
	return s.erasing(ctx, func(ctx context.Context, tx pgx.Tx) error {
		n, err := s.erase(ctx, tx, []string{id})
		if err == nil && n == 0 {
			return &bot.Error{Code: bot.CodeNotFound, Text: "there is no job " + id + " in the record"}
		}
		return err
	})
}

// Expire erases the jobs closed before a time and says how many. A job that is opened
// again meanwhile is locked out of it by its row.
func (s *Store) Expire(ctx context.Context, before time.Time) (n int, err error) {
	err = s.erasing(ctx, func(ctx context.Context, tx pgx.Tx) error {
		ids, err := texts(ctx, tx, "SELECT id FROM streams WHERE shop = $1 AND closed < $2 FOR UPDATE", s.shop, before)
		if err == nil {
			n, err = s.erase(ctx, tx, ids)
		}
		return err
	})
	return n, err
}

func texts(ctx context.Context, tx pgx.Tx, sql string, args ...any) ([]string, error) {
	rows, err := tx.Query(ctx, sql, args...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowTo[string])
}

// ForgetPerson erases a person from the record: his name, his words, his pictures and
// where he wrote from. The jobs he spoke on stay, with their answers, but can no
// longer be worked out again. They must be closed first: CodeInvalid.
func (s *Store) ForgetPerson(ctx context.Context, person string) error {
	return s.erasing(ctx, func(ctx context.Context, tx pgx.Tx) error {
		streams, err := texts(ctx, tx, "SELECT DISTINCT stream FROM events WHERE shop = $1 AND person = $2 AND stream NOT LIKE '@%' ORDER BY stream", s.shop, person)
		if err != nil {
			return err
		}
		n, err := s.erase(ctx, tx, []string{"@" + person})
		if err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "DELETE FROM passes WHERE shop = $1 AND person = $2", s.shop, person); err != nil {
			return err
		}
		if len(streams) == 0 && n == 0 {
			return &bot.Error{Code: bot.CodeNotFound, Text: "nobody called " + person + " is in the record"}
		}
		for _, stream := range streams {
			if err := s.forgetOn(ctx, tx, stream, person); err != nil {
				return err
			}
		}
		// Notices that belong to no job may name anybody.
		_, err = tx.Exec(ctx, "DELETE FROM outbox WHERE shop = $1 AND (stream = '' OR stream LIKE '@%')", s.shop)
		return err
	})
}

func (s *Store) forgetOn(ctx context.Context, tx pgx.Tx, stream, person string) error {
	var open bool
	if err := tx.QueryRow(ctx, "SELECT closed IS NULL FROM streams WHERE shop = $1 AND id = $2 FOR UPDATE", s.shop, stream).Scan(&open); err != nil {
		return err
	}
	if open {
		return bot.StillOn(stream, person)
	}
	rows, err := tx.Query(ctx, "SELECT "+eventColumns+" FROM events e WHERE e.shop = $1 AND e.stream = $2 ORDER BY e.seq", s.shop, stream)
	if err != nil {
		return err
	}
	events, err := pgx.CollectRows(rows, func(r pgx.CollectableRow) (bot.Event, error) { return scanEvent(r) })
	if err != nil {
		return err
	}
	b := &pgx.Batch{}
	for _, table := range []string{"found WHERE stream", "snapshots WHERE stream", "outbox WHERE stream", "places WHERE job"} {
		b.Queue("DELETE FROM "+table+" = $2 AND shop = $1", s.shop, stream)
	}
	bot.Unname(events, person)
	for i := range events {
		if e := &events[i]; e.Kind != bot.EventAnswered { // answers are not found by their own words
			s.findable(b, stream, e.Seq, strings.Join([]string{stream, e.Name, e.Text, e.Fault}, " "))
		}
		body, err := json.Marshal(&events[i])
		if err != nil {
			return err
		}
		b.Queue("UPDATE events SET person = $4, body = $5 WHERE shop = $1 AND stream = $2 AND seq = $3", s.shop, stream, events[i].Seq, events[i].Person, body)
	}
	return tx.SendBatch(ctx, b).Close()
}
