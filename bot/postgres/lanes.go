package postgres

import (
	"context"
	"encoding/json"
	"errors"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"proveout/bot"
)

// Take gives what waits in lanes that no other service delivers, of so many lanes at
// most, in order; from then on this one delivers them.
func (s *Store) Take(ctx context.Context, most int) (out []bot.Outbound, err error) {
	// Mostly nothing waits, and to ask takes no write.
	waits := false
	err = s.query(ctx, func(r pgx.Rows) error { return r.Scan(&waits) },
		"SELECT EXISTS (SELECT FROM lanes WHERE shop = $1 AND taken < puts AND (holder IS NULL OR holder = $2))", s.shop, s.number)
	if err != nil || !waits {
		return nil, s.translate("reading", err)
	}
	done := false
	err = s.within(ctx, answering, func(ctx context.Context, tx pgx.Tx) error {
		out, err = s.take(ctx, tx, most)
		done = err == nil
		return err
	})
	if err == nil {
		return out, nil
	}
	// Whether the lanes are this one's now the database knows, once it was told to keep them
	// so and has not said that it could not. To go on could leave them to nobody.
	if _, said := errors.AsType[*pgconn.PgError](err); done && !said || errors.Is(err, errStruckOff) {
		select {
		case s.lost <- err:
		default:
		}
	}
	return nil, s.translate("writing", err)
}

// errStruckOff: others took this service for dead.
var errStruckOff = errors.New("other services took this one for dead")

func (s *Store) take(ctx context.Context, tx pgx.Tx, most int) ([]bot.Outbound, error) {
	// Who was taken for dead takes no more: nobody would look after his lanes.
	tag, err := tx.Exec(ctx, "SELECT FROM services WHERE shop = $1 AND number = $2 FOR KEY SHARE", s.shop, s.number)
	if err == nil && tag.RowsAffected() == 0 {
		err = errStruckOff
	}
	if err != nil {
		return nil, err
	}
	got, err := s.claim(ctx, tx, most)
	if err != nil || len(got.lanes) == 0 {
		return nil, err
	}
	// A statement of its own: what a lane was said to hold is visible to it.
	rows, err := tx.Query(ctx, `SELECT o.body, o.place <= w.again FROM unnest($2::text[], $3::bigint[], $4::bigint[], $5::bigint[]) w(lane, after, upto, again)
		JOIN outbox o ON o.shop = $1 AND o.lane = w.lane AND o.state = 'pending' AND o.place > w.after AND o.place <= w.upto ORDER BY o.lane, o.place`, s.shop, got.lanes, got.after, got.upto, got.again)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(r pgx.CollectableRow) (m bot.Outbound, err error) {
		var body []byte
		var again bool
		if err := r.Scan(&body, &again); err != nil {
			return m, err
		}
		err = json.Unmarshal(body, &m)
		m.Again = again
		return m, err
	})
}

// claimed are lanes that were taken, and of each after which message and up to which there
// is something to deliver, and how many of them may have been delivered before.
type claimed struct {
	lanes              []string
	after, upto, again []int64
}

// claim takes lanes.
func (s *Store) claim(ctx context.Context, tx pgx.Tx, most int) (got claimed, err error) {
	rows, err := tx.Query(ctx, `WITH free AS (SELECT lane, taken FROM lanes WHERE shop = $1 AND taken < puts AND (holder IS NULL OR holder = $2) LIMIT $3 FOR UPDATE SKIP LOCKED)
		UPDATE lanes l SET holder = $2, taken = l.puts FROM free WHERE l.shop = $1 AND l.lane = free.lane RETURNING l.lane, free.taken, l.puts, l.again`, s.shop, s.number, most)
	if err != nil {
		return got, err
	}
	var lane string
	var after, upto, again int64
	_, err = pgx.ForEachRow(rows, []any{&lane, &after, &upto, &again}, func() error {
		got.lanes = append(got.lanes, lane)
		got.after, got.upto, got.again = append(got.after, after), append(got.upto, upto), append(got.again, again)
		return nil
	})
	return got, err
}

// layOut puts messages that wait and are in no lane at the end of theirs: those of a
// record that was moved here, or that an earlier version wrote.
func (s *Store) layOut(ctx context.Context) error {
	return s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock("+lanesLock+")", s.shop); err != nil {
			return err
		}
		rows, err := tx.Query(ctx, `SELECT id, body FROM outbox o WHERE shop = $1 AND state = 'pending'
			AND NOT EXISTS (SELECT FROM lanes l WHERE l.shop = o.shop AND l.lane = o.lane) ORDER BY n`, s.shop)
		if err != nil {
			return err
		}
		b := &pgx.Batch{}
		var id string
		var body []byte
		_, err = pgx.ForEachRow(rows, []any{&id, &body}, func() error {
			var m bot.Outbound
			if err := json.Unmarshal(body, &m); err != nil {
				return err
			}
			b.Queue(`WITH at AS (INSERT INTO lanes (shop, lane, puts, again) VALUES ($1, $3, 1, 1) ON CONFLICT (shop, lane) DO UPDATE SET puts = lanes.puts + 1, again = lanes.puts + 1 RETURNING puts)
				UPDATE outbox SET lane = $3, place = puts FROM at WHERE shop = $1 AND id = $2`, s.shop, id, m.Lane())
			return nil
		})
		if err != nil || b.Len() == 0 {
			return err
		}
		return tx.SendBatch(ctx, b).Close()
	})
}
