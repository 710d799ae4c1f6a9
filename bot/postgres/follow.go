package postgres

import (
	"context"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

// Follow hands over the events that were written since it was last called, and since
// Restore the first time, in the order they were written; its own too, since who writes may
// lose the answer. One may come again. Only those that are news are read.
//
// Transactions end in another order than they begin in, so what has been seen is not a
// number but a snapshot: what was not visible in it is new.
func (s *Store) Follow(ctx context.Context, news func(bot.Mark) bool, take func(bot.Event) error) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	now, err := s.snapshot(ctx)
	if err != nil {
		return s.translate("reading", err)
	}
	err = s.query(ctx, func(r pgx.Rows) error {
		var m bot.Mark
		if err := r.Scan(&m.Stream, &m.Seq, nil, nil, nil, nil, nil); err != nil || !news(m) {
			return err
		}
		e, err := scanEvent(r)
		if err != nil {
			return err
		}
		return take(e)
	}, "SELECT "+eventColumns+` FROM events e WHERE e.shop = $1
		AND e.tx >= pg_snapshot_xmin($2::pg_snapshot)::text::bigint AND NOT pg_visible_in_snapshot(e.tx::text::xid8, $2::pg_snapshot) ORDER BY e.n`,
		s.shop, s.seen)
	if err == nil {
		s.seen = now
	}
	return s.translate("reading", err)
}

// snapshot names what is visible now.
func (s *Store) snapshot(ctx context.Context) (now string, err error) {
	err = s.pool.QueryRow(ctx, "SELECT pg_current_snapshot()::text").Scan(&now)
	return now, err
}

// Stands says what a person did last, and where the streams stand that his next message
// may be about: his own and those of his open jobs.
func (s *Store) Stands(ctx context.Context, person string) (last bot.Mark, streams []bot.Mark, err error) {
	into := func(marks *[]bot.Mark) func(pgx.Rows) error {
		return func(r pgx.Rows) error {
			var m bot.Mark
			err := r.Scan(&m.Stream, &m.Seq)
			*marks = append(*marks, m)
			return err
		}
	}
	var lasts []bot.Mark
	if err := s.query(ctx, into(&lasts), "SELECT stream, seq FROM events WHERE shop = $1 AND person = $2 ORDER BY n DESC LIMIT 1", s.shop, person); err != nil {
		return last, nil, s.translate("reading", err)
	}
	if len(lasts) > 0 {
		last = lasts[0]
	}
	err = s.query(ctx, into(&streams), `SELECT id, seq FROM streams WHERE shop = $1 AND closed IS NULL
		AND (id = '@' || $2 OR id IN (SELECT stream FROM events WHERE shop = $1 AND person = $2 AND kind = 'opened'))`, s.shop, person)
	return last, streams, s.translate("reading", err)
}

// renumber has what was written in another cluster, and restored into this one, be of
// before any transaction here: its numbers mean nothing, and would be news for ever.
func (s *Store) renumber(ctx context.Context) error {
	b := s.writing()
	b.Queue("UPDATE events SET tx = 0 WHERE shop = $1 AND tx >= pg_snapshot_xmax(pg_current_snapshot())::text::bigint", s.shop)
	return s.write(ctx, b)
}
