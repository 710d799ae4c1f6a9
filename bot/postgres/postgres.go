package postgres

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"

	"proveout/bot"
)

var _ bot.Store = (*Store)(nil)

// Database holds the records of many shops. It may be shared between goroutines.
type Database struct {
	pool *pgxpool.Pool
	name string // for messages; without a password
}

// Open connects to the database a URL names and takes its schema to the newest. The
// role must be bound by row security: a superuser is refused. The error's code is
// CodeInvalid, CodeUnreachable or CodeInternal.
func Open(ctx context.Context, url string) (*Database, error) {
	c, err := pgxpool.ParseConfig(url)
	if err != nil {
		// The library's error may quote the URL, which may hold a password.
		return nil, &bot.Error{Code: bot.CodeInvalid, Text: "the address of the database cannot be read; write it as postgres://user@host/database"}
	}
	d := &Database{name: fmt.Sprintf("%s on %s", c.ConnConfig.Database, c.ConnConfig.Host)}
	if d.pool, err = pgxpool.NewWithConfig(ctx, c); err != nil {
		return nil, d.translate("opening", err)
	}
	if err := d.ready(ctx); err != nil {
		d.pool.Close()
		return nil, d.translate("opening", err)
	}
	return d, nil
}

// ready takes the schema to the newest and looks whether the walls between shops
// stand for this role.
func (d *Database) ready(ctx context.Context) error {
	c, err := d.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	defer c.Release()
	var role string
	var unbound bool
	if err := c.QueryRow(ctx, "SELECT rolname, rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user").Scan(&role, &unbound); err != nil {
		return err
	}
	if unbound {
		return &bot.Error{Code: bot.CodeInvalid, Text: "the role " + role + " is not bound by row security, so shops could see each other; connect as one that is no superuser: CREATE ROLE proveout LOGIN"}
	}
	return migrate(ctx, c.Conn())
}

// Close lets the database go; what Append has answered is in it.
func (d *Database) Close() { d.pool.Close() }

// Shop is the record of one shop, for looking only, whoever holds it.
func (d *Database) Shop(name string) *Store { return &Store{Database: d, shop: name} }

// Store is the record of one shop. It may be shared between goroutines.
type Store struct {
	*Database
	shop   string
	held   *pgx.Conn // nil when only looking
	number int64     // of this owner
}

// inShop makes the statements that follow in the same transaction those of the shop.
const inShop = "SELECT set_config('proveout.shop', $1, true)"

// query asks one thing of the shop's rows. The batch is a transaction and one way to
// the database and back.
func (s *Store) query(ctx context.Context, take func(pgx.Rows) error, sql string, args ...any) error {
	b := &pgx.Batch{}
	b.Queue(inShop, s.shop)
	b.Queue(sql, args...)
	r := s.pool.SendBatch(ctx, b)
	_, err := r.Exec()
	if err == nil {
		var rows pgx.Rows
		if rows, err = r.Query(); err == nil {
			for rows.Next() && err == nil {
				err = take(rows)
			}
			rows.Close()
			if err == nil {
				err = rows.Err()
			}
		}
	}
	if closed := r.Close(); err == nil {
		err = closed
	}
	return err
}

// transaction does what is written together, for the shop. Once begun it is finished,
// whether or not somebody still waits for it.
func (s *Store) transaction(ctx context.Context, do func(context.Context, pgx.Tx) error) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if s.held == nil {
		return &bot.Error{Code: bot.CodeReadOnly, Text: "the record is open for reading only"}
	}
	ctx = context.WithoutCancel(ctx)
	return pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		b := &pgx.Batch{}
		b.Queue(inShop, s.shop)
		// Shared, so that whoever takes over waits for what is being written.
		b.Queue("SELECT number FROM owners WHERE shop = $1 AND number = $2 FOR SHARE", s.shop, s.number).Exec(func(tag pgconn.CommandTag) error {
			if tag.RowsAffected() == 0 {
				return &bot.Error{Code: bot.CodeLocked, Text: "another service has taken the shop over; this one writes no more"}
			}
			return nil
		})
		if err := tx.SendBatch(ctx, b).Close(); err != nil {
			return err
		}
		return do(ctx, tx)
	})
}
