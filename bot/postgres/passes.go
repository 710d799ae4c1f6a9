package postgres

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
	"proveout/bot/signin"
)

var _ signin.Store = (*Store)(nil)

const passColumns = "id, person, code, salt, device, made, used, until, uses"

// PutPass adds a pass and forgets those whose time is over.
func (s *Store) PutPass(ctx context.Context, p signin.Pass) error {
	return s.translate("writing", s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		b := &pgx.Batch{}
		b.Queue("DELETE FROM passes WHERE shop = $1 AND until < $2", s.shop, p.Made)
		b.Queue("INSERT INTO passes (shop, "+passColumns+") VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
			s.shop, p.ID, p.Person, p.Code, p.Salt, p.Device, p.Made, p.Used, p.Until, p.Uses)
		return tx.SendBatch(ctx, b).Close()
	}))
}

// Pass gives a pass.
func (s *Store) Pass(ctx context.Context, id string) (signin.Pass, error) {
	found, err := s.passes(ctx, "SELECT "+passColumns+" FROM passes WHERE shop = $1 AND id = $2", s.shop, id)
	if err == nil && len(found) == 0 {
		err = noPass()
	}
	if err != nil {
		return signin.Pass{}, err
	}
	return found[0], nil
}

// UsePass counts a use of a pass.
func (s *Store) UsePass(ctx context.Context, id string, at time.Time) (p signin.Pass, err error) {
	err = s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		rows, err := tx.Query(ctx, "UPDATE passes SET uses = uses + 1, used = $3 WHERE shop = $1 AND id = $2 RETURNING "+passColumns, s.shop, id, at)
		if err != nil {
			return err
		}
		p, err = pgx.CollectOneRow(rows, scanPass)
		if errors.Is(err, pgx.ErrNoRows) {
			return noPass()
		}
		return err
	})
	return p, s.translate("writing", err)
}

// PassesOf lists a person's passes.
func (s *Store) PassesOf(ctx context.Context, person string) ([]signin.Pass, error) {
	return s.passes(ctx, "SELECT "+passColumns+" FROM passes WHERE shop = $1 AND person = $2 ORDER BY made DESC, id", s.shop, person)
}

// DropPass takes a pass away.
func (s *Store) DropPass(ctx context.Context, id string) error {
	return s.translate("writing", s.transaction(ctx, func(ctx context.Context, tx pgx.Tx) error {
		tag, err := tx.Exec(ctx, "DELETE FROM passes WHERE shop = $1 AND id = $2", s.shop, id)
		if err == nil && tag.RowsAffected() == 0 {
			return noPass()
		}
		return err
	}))
}

func noPass() error { return &bot.Error{Code: bot.CodeNotFound, Text: "there is no such pass"} }

func (s *Store) passes(ctx context.Context, sql string, args ...any) ([]signin.Pass, error) {
	var out []signin.Pass
	err := s.query(ctx, func(r pgx.Rows) error {
		p, err := scanPass(r)
		out = append(out, p)
		return err
	}, sql, args...)
	return out, s.translate("reading", err)
}

func scanPass(r pgx.CollectableRow) (signin.Pass, error) {
	var p signin.Pass
	err := r.Scan(&p.ID, &p.Person, &p.Code, &p.Salt, &p.Device, &p.Made, &p.Used, &p.Until, &p.Uses)
	p.Made, p.Used, p.Until = p.Made.UTC(), p.Used.UTC(), p.Until.UTC()
	return p, err
}
