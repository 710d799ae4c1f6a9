package postgres

import (
	"context"
	"crypto/sha256"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"proveout/bot"
)

const (
	// beats is how often a service shows that it lives and looks for those that do not,
	// and patience how long the database may take to answer it.
	beats, patience = time.Second, 3 * time.Second
	// freed is how many lanes of services that are gone are freed at a time.
	freed = 5000
	// tells is the least time between two notices to the others that something was written.
	tells = 20 * time.Millisecond
	// slack is how far the clocks of a machine and of the database may drift apart before
	// they are compared anew.
	slack = 100 * time.Millisecond
)

// Now is the time by the database's clock, which all services of a shop go by: what it
// showed when it was last looked at, and what has passed since. Where this machine's clock
// is set meanwhile no more has passed for it.
func (s *Store) Now() time.Time {
	shown := s.shown.Load()
	if shown == nil {
		return s.clock()
	}
	return shown.there.Add(s.clock().Sub(shown.here))
}

// reading is one moment as this machine's clock shows it, and the database's.
type reading struct{ here, there time.Time }

func (s *Store) clock() time.Time {
	if s.Clock != nil {
		return s.Clock()
	}
	return time.Now()
}

// Woken tells that there may be something to follow or to take.
func (s *Store) Woken() <-chan struct{} { return s.woken }

// Hold keeps the service among those that answer until the context ends. An error says
// that its part in the shop is lost: others take up what it has in hand.
func (s *Store) Hold(ctx context.Context) error {
	told := make(chan struct{})
	telling, stop := context.WithCancel(ctx)
	defer func() { stop(); <-told }()
	go func() {
		defer close(told)
		s.tell(telling)
	}()
	next := time.Now()
	for ctx.Err() == nil {
		select {
		case err := <-s.lost:
			return s.gone(err)
		default:
		}
		if wait := time.Until(next); wait > 0 {
			if err := s.listen(ctx, wait); err != nil {
				return s.gone(err)
			}
			continue
		}
		asked, cancel := context.WithTimeout(context.WithoutCancel(ctx), patience)
		err := s.beat(asked)
		if err == nil {
			_ = s.free(asked) // what is not freed now is at the next beat
		}
		cancel()
		if err != nil {
			return s.gone(err)
		}
		next = time.Now().Add(beats)
	}
	return nil
}

func (s *Store) gone(err error) error {
	return &bot.Error{Code: bot.CodeUnreachable, Text: "the hold on the shop's record is lost, other services go on; start this one again", Err: err}
}

// listen waits for word that another service has written, for a while.
func (s *Store) listen(ctx context.Context, wait time.Duration) error {
	waiting, cancel := context.WithTimeout(ctx, wait)
	defer cancel()
	_, err := s.held.WaitForNotification(waiting)
	switch {
	case err == nil:
		signal(s.woken)
	case waiting.Err() != nil && !s.held.IsClosed():
	default:
		return err
	}
	return nil
}

// channel is what a shop's services listen to.
func (s *Store) channel() string {
	return fmt.Sprintf("proveout_%x", sha256.Sum256([]byte(s.shop)))[:40]
}

// tell tells the others that something was written, out of the way of the writing: the
// database lets one transaction at a time tell anything.
func (s *Store) tell(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.wrote:
		}
		// What is not heard is found at the next beat.
		b := &pgx.Batch{}
		b.Queue("SELECT set_config('synchronous_commit', 'off', true)")
		b.Queue("SELECT pg_notify($1, '')", s.channel())
		_ = s.pool.SendBatch(ctx, b).Close()
		select {
		case <-ctx.Done():
			return
		case <-time.After(tells):
		}
	}
}

// beat asks the database for the time.
func (s *Store) beat(ctx context.Context) error {
	b := &pgx.Batch{}
	b.Queue(inShop, s.shop)
	asked := s.clock()
	b.Queue("SELECT clock_timestamp()").QueryRow(func(r pgx.Row) error {
		var at time.Time
		err := r.Scan(&at)
		s.compare(asked, s.clock(), at)
		return err
	})
	return s.held.SendBatch(ctx, b).Close()
}

// free frees the lanes of services that are gone, so many at a time. It waits for nobody:
// what is being written to is freed later.
func (s *Store) free(ctx context.Context) error {
	b := s.writing()
	b.Queue(`DELETE FROM services WHERE shop = $1 AND number IN
		(SELECT number FROM services WHERE shop = $1 AND number <> $2 AND pg_try_advisory_xact_lock(`+serviceLock+`) FOR UPDATE SKIP LOCKED)`, s.shop, s.number)
	// A statement of its own, which sees what was taken by who is gone while the one before
	// struck him off.
	b.Queue(`WITH left_over AS (SELECT lane FROM lanes l WHERE shop = $1 AND holder IS NOT NULL
			AND NOT EXISTS (SELECT FROM services s WHERE s.shop = $1 AND s.number = l.holder) LIMIT $2 FOR UPDATE SKIP LOCKED)
		UPDATE lanes l SET holder = NULL, taken = 0, again = puts FROM left_over o WHERE l.shop = $1 AND l.lane = o.lane`, s.shop, freed).
		Exec(func(tag pgconn.CommandTag) error {
			if tag.RowsAffected() > 0 {
				signal(s.woken)
			}
			return nil
		})
	return s.write(ctx, b)
}

// compare takes what the database's clock showed between two moments of this machine's.
func (s *Store) compare(asked, answered, at time.Time) {
	took := answered.Sub(asked)
	now := &reading{here: asked.Add(took / 2), there: at}
	last := s.shown.Load()
	if last == nil || (now.there.Sub(last.there)-now.here.Sub(last.here)).Abs() > took/2+slack {
		s.shown.Store(now)
	}
}
