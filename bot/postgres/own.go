package postgres

import (
	"context"
	"errors"
	"maps"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

// The locks of a shop and of a service of it. They are a session's, so each ends with
// its process or its connection; the database itself looks for connections that died.
const (
	shopLock    = "hashtextextended(E'proveout shop\\n' || $1, 0)"
	serviceLock = "hashtextextended(E'proveout service\\n' || $1 || E'\\n' || number, 0)"
	lanesLock   = "hashtextextended(E'proveout lanes\\n' || $1, 0)"
	personLock  = "hashtextextended(E'proveout person\\n' || $1 || E'\\n' || $2, 0)"
)

// Join makes this process one of the services that answer for a shop; it waits while
// somebody holds the shop alone.
func (d *Database) Join(ctx context.Context, shop string) (*Store, error) {
	s, err := d.session(ctx, shop)
	if err != nil {
		return nil, err
	}
	return s.opened(s.join(ctx))
}

// Own takes a shop's record for this process alone, to change what services must not
// see half changed. A shop that is held, or that a service answers for, is refused with
// CodeLocked.
func (d *Database) Own(ctx context.Context, shop string) (*Store, error) {
	s, err := d.session(ctx, shop)
	if err != nil {
		return nil, err
	}
	_, err = s.own(ctx, false)
	return s.opened(err)
}

// session opens the connection whose life is this process's part in the shop.
func (d *Database) session(ctx context.Context, shop string) (*Store, error) {
	c, err := pgx.ConnectConfig(ctx, d.pool.Config().ConnConfig)
	if err != nil {
		return nil, d.translate("opening", err)
	}
	s := d.Shop(shop)
	s.held = c
	return s, nil
}

// opened gives the store, or closes one that could not be had.
func (s *Store) opened(err error) (*Store, error) {
	if err != nil {
		return nil, errors.Join(s.translate("opening", err), s.Close())
	}
	return s, nil
}

// watched has the database tell a machine that is gone from one that is idle within four
// seconds, whatever its connection holds.
func watched(c *pgx.ConnConfig) {
	maps.Copy(c.RuntimeParams, map[string]string{
		"tcp_keepalives_idle": "2", "tcp_keepalives_interval": "1", "tcp_keepalives_count": "2", "tcp_user_timeout": "4000",
		"idle_in_transaction_session_timeout": "10000",
	})
}

// own gets the shop's lock alone, and says whether the shop is being moved here; moves
// says that it is from now on, if it is new.
func (s *Store) own(ctx context.Context, moves bool) (moving bool, err error) {
	var got bool
	if err := s.held.QueryRow(ctx, "SELECT pg_try_advisory_lock("+shopLock+")", s.shop).Scan(&got); err != nil {
		return false, err
	}
	if !got {
		return false, &bot.Error{Code: bot.CodeLocked, Text: "a service is answering for the shop; stop it and try again"}
	}
	s.alone = true
	return s.enter(ctx, moves)
}

// join gets the shop's lock beside others, and the one of a number no service had
// before.
func (s *Store) join(ctx context.Context) error {
	if _, err := s.held.Exec(ctx, "SELECT pg_advisory_lock_shared("+shopLock+")", s.shop); err != nil {
		return err
	}
	if _, err := s.enter(ctx, false); err != nil {
		return err
	}
	if _, err := s.held.Exec(ctx, "LISTEN "+s.channel()); err != nil {
		return err
	}
	if err := s.beat(ctx); err != nil {
		return err
	}
	if err := s.free(ctx); err != nil {
		return err
	}
	if err := s.renumber(ctx); err != nil {
		return err
	}
	return s.layOut(ctx)
}

// enter gives the process its number. A shop half moved is nobody's but its mover's.
func (s *Store) enter(ctx context.Context, moves bool) (moving bool, err error) {
	err = pgx.BeginFunc(ctx, s.held, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, inShop, s.shop); err != nil {
			return err
		}
		err := tx.QueryRow(ctx, `INSERT INTO shops (shop, number, moving) VALUES ($1, 1, $2)
			ON CONFLICT (shop) DO UPDATE SET number = shops.number + 1, moving = shops.moving OR $2
				AND NOT EXISTS (SELECT FROM inbound WHERE shop = $1) AND NOT EXISTS (SELECT FROM streams WHERE shop = $1)
			RETURNING number, moving`, s.shop, moves).Scan(&s.number, &moving)
		if err != nil {
			return err
		}
		if moving && !moves {
			return &bot.Error{Code: bot.CodeInvalid, Text: "the shop's move was broken off; run proveout migrate again to finish it"}
		}
		if s.alone {
			return nil
		}
		// The lock comes before the row: who finds the row finds it locked.
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_lock("+serviceLock+") FROM (SELECT $2::bigint AS number) me", s.shop, s.number); err != nil {
			return err
		}
		_, err = tx.Exec(ctx, "INSERT INTO services (shop, number) VALUES ($1, $2)", s.shop, s.number)
		return err
	})
	return moving, err
}

// Close lets the shop go: what this process has not delivered others take up.
func (s *Store) Close() error {
	if s.held == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	// A session ends some time after its connection is closed; who comes next need not wait.
	_, _ = s.held.Exec(ctx, "SELECT pg_advisory_unlock_all()") // one that is lost has none
	return s.held.Close(ctx)
}
