package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"proveout/bot"
	"proveout/bot/signin"
)

var _ signin.Store = (*Store)(nil)

const passColumns = "id, person, code, salt, device, made, used, until, uses"

// PutPass adds a pass and forgets those whose time is over.
func (s *Store) PutPass(ctx context.Context, p signin.Pass) error {
	return s.alone(ctx, "writing", func() error {
		if _, err := s.conn.ExecContext(ctx, "DELETE FROM passes WHERE until < ?", micros(p.Made)); err != nil {
			return err
		}
		_, err := s.conn.ExecContext(ctx, "INSERT INTO passes ("+passColumns+") VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
			p.ID, p.Person, p.Code, p.Salt, p.Device, micros(p.Made), micros(p.Used), micros(p.Until), p.Uses)
		return err
	})
}

// Pass gives a pass.
func (s *Store) Pass(ctx context.Context, id string) (signin.Pass, error) {
	p, err := scanPass(s.readers.QueryRowContext(ctx, "SELECT "+passColumns+" FROM passes WHERE id = ?", id))
	return p, s.translate("reading", err)
}

// UsePass counts a use of a pass.
func (s *Store) UsePass(ctx context.Context, id string, at time.Time) (p signin.Pass, err error) {
	err = s.alone(ctx, "writing", func() error {
		p, err = scanPass(s.conn.QueryRowContext(ctx, "UPDATE passes SET uses = uses + 1, used = ? WHERE id = ? RETURNING "+passColumns, micros(at), id))
		return err
	})
	return p, err
}

// PassesOf lists a person's passes.
func (s *Store) PassesOf(ctx context.Context, person string) ([]signin.Pass, error) {
	rows, err := s.readers.QueryContext(ctx, "SELECT "+passColumns+" FROM passes WHERE person = ? ORDER BY made DESC, id", person)
	if err != nil {
		return nil, s.translate("reading", err)
	}
	defer func() { _ = rows.Close() }()
	var out []signin.Pass
	for rows.Next() {
		p, err := scanPass(rows)
		if err != nil {
			return nil, s.translate("reading", err)
		}
		out = append(out, p)
	}
	return out, s.translate("reading", rows.Err())
}

// DropPass takes a pass away.
func (s *Store) DropPass(ctx context.Context, id string) error {
	return s.alone(ctx, "writing", func() error {
		res, err := s.conn.ExecContext(ctx, "DELETE FROM passes WHERE id = ?", id)
		if err != nil {
			return err
		}
		if n, err := res.RowsAffected(); err != nil || n > 0 {
			return err
		}
		return noPass()
	})
}

func noPass() error { return &bot.Error{Code: bot.CodeNotFound, Text: "there is no such pass"} }

func scanPass(row interface{ Scan(...any) error }) (signin.Pass, error) {
	var p signin.Pass
	var made, used, until int64
	err := row.Scan(&p.ID, &p.Person, &p.Code, &p.Salt, &p.Device, &made, &used, &until, &p.Uses)
	if errors.Is(err, sql.ErrNoRows) {
		return p, noPass()
	}
	p.Made, p.Used, p.Until = time.UnixMicro(made).UTC(), time.UnixMicro(used).UTC(), time.UnixMicro(until).UTC()
	return p, err
}
