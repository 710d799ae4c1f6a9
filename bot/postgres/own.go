package postgres

import (
	"context"
	"errors"
	"maps"
	"time"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

// Own takes a shop's record for this process: of several services on one shop one
// answers and the others stand by. The hold is a lock of the session's, so it ends with
// the process or its connection; the database itself looks for connections that died.
// Without waiting, a shop that is held is refused with CodeLocked.
func (d *Database) Own(ctx context.Context, shop string, wait bool) (*Store, error) {
	s, _, err := d.hold(ctx, shop, holding{waits: wait})
	return s, err
}

// holding says how a shop is held: whether to wait for it, and whether to move it here.
type holding struct{ waits, moves bool }

// hold takes a shop and says whether it is being moved.
func (d *Database) hold(ctx context.Context, shop string, how holding) (s *Store, moving bool, err error) {
	c, err := pgx.ConnectConfig(ctx, d.watched())
	if err != nil {
		return nil, false, d.translate("opening", err)
	}
	s = &Store{Database: d, shop: shop, held: c}
	moving, err = s.own(ctx, how)
	if err == nil && moving && !how.moves {
		err = &bot.Error{Code: bot.CodeInvalid, Text: "the shop's move was broken off; run proveout migrate again to finish it"}
	}
	if err != nil {
		return nil, false, errors.Join(d.translate("opening", err), s.Close())
	}
	return s, moving, nil
}

// watched is the configuration of a connection that holds a shop: a machine that is
// gone is told from one that is idle within four seconds.
func (d *Database) watched() *pgx.ConnConfig {
	c := d.pool.Config().ConnConfig.Copy()
	maps.Copy(c.RuntimeParams, map[string]string{
		"tcp_keepalives_idle": "2", "tcp_keepalives_interval": "1", "tcp_keepalives_count": "2", "tcp_user_timeout": "4000",
	})
	return c
}

// own gets the lock, and a number that no owner before had: a write under an older
// number is refused, so that one who was taken over without noticing writes no more.
func (s *Store) own(ctx context.Context, how holding) (moving bool, err error) {
	const key = "hashtextextended('proveout ' || $1, 0)"
	got := how.waits
	if how.waits {
		_, err = s.held.Exec(ctx, "SELECT pg_advisory_lock("+key+")", s.shop)
	} else {
		err = s.held.QueryRow(ctx, "SELECT pg_try_advisory_lock("+key+")", s.shop).Scan(&got)
	}
	if err != nil {
		return false, err
	}
	if !got {
		return false, &bot.Error{Code: bot.CodeLocked, Text: "a service is answering for the shop; stop it and try again"}
	}
	err = pgx.BeginFunc(ctx, s.held, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, inShop, s.shop); err != nil {
			return err
		}
		return tx.QueryRow(ctx, `INSERT INTO owners (shop, number, moving) VALUES ($1, 1, $2)
			ON CONFLICT (shop) DO UPDATE SET number = owners.number + 1 RETURNING number, moving`, s.shop, how.moves).Scan(&s.number, &moving)
	})
	return moving, err
}

// Hold watches over the hold until the context ends; an error says that it is lost,
// and another service may answer.
func (s *Store) Hold(ctx context.Context) error {
	const every, patience = time.Second, 3 * time.Second
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
			asked, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
			err := s.held.Ping(asked)
			cancel()
			if err != nil {
				return &bot.Error{Code: bot.CodeUnreachable, Text: "the hold on the shop's record is lost, another service answers now; start this one again to stand by", Err: err}
			}
		}
	}
}

// Close lets the shop go.
func (s *Store) Close() error {
	if s.held == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	return s.held.Close(ctx)
}
