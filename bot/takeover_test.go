package bot_test

import (
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot/postgres/postgrestest"
)

// takenOver is the longest there may be between a service killed and its part in the
// shop taken over.
const takenOver = 5 * time.Second

// outlived returns when only so many services are left of a shop, and no lane is held by
// another.
func outlived(ctx context.Context, superuser string, left int) error {
	c, err := pgx.Connect(ctx, superuser)
	if err != nil {
		return err
	}
	defer func() { _ = c.Close(ctx) }()
	for n := -1; n != left; {
		const sql = "SELECT count(*) + (SELECT 100 * count(*) FROM lanes WHERE holder NOT IN (SELECT number FROM services)) FROM pg_sleep(0.02), services"
		if err := c.QueryRow(ctx, sql).Scan(&n); err != nil {
			return err
		}
	}
	return nil
}

// Two services answer for one shop and are brought the same messages, each once by
// both. One of the two is killed under load again and again, and in the end both, and
// the database. What is in hand is taken over in time, and nothing is lost, nothing done
// twice.
func TestNothingIsLostOrDoneTwiceWhenOneOfTwoServicesDies(t *testing.T) {
	server, err := postgrestest.Start(t.Context())
	if errors.Is(err, postgrestest.ErrMissing) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	database, err := server.Database(t.Context())
	require.NoError(t, err)
	superuser := server.Superuser("t1")
	dir := t.TempDir()
	rounds := crashes(t, 4, 2)
	var longest time.Duration

	type service struct {
		*exec.Cmd
		next [crashTechs]int
		read chan struct{} // closed when all it printed was read
	}
	var mu sync.Mutex // of next
	reached := [crashTechs]int{}
	start := func() *service {
		mu.Lock()
		s := &service{next: reached, read: make(chan struct{})}
		mu.Unlock()
		var out io.Reader
		s.Cmd, out = crashing(t, dir, database, &s.next)
		begun := make(chan struct{})
		go func() {
			defer close(s.read)
			if err := acknowledged(out, &s.next, func() { close(begun) }); err != nil {
				t.Error(err)
			}
		}()
		select {
		case <-begun:
		case <-s.read: // it failed
		}
		return s
	}
	end := func(s *service) {
		_ = s.Process.Kill()
		<-s.read
		_ = s.Wait() // it was killed, or ended when the database had
		mu.Lock()
		defer mu.Unlock()
		for i, n := range s.next {
			reached[i] = max(reached[i], n)
		}
	}
	one, other := start(), start()
	for range rounds {
		<-time.After(time.Duration(rand.N(int64(200 * time.Millisecond))))
		killed := time.Now()
		end(one)
		require.NoError(t, outlived(t.Context(), superuser, 1))
		longest = max(longest, time.Since(killed))
		one, other = other, start()
	}
	require.NoError(t, server.Kill())
	end(one)
	end(other)
	require.NoError(t, server.Run(t.Context()))

	requireNothingLost(t, dir, database, &reached, rounds)
	t.Logf("taken over within %v", longest.Round(time.Millisecond))
	require.Less(t, longest, takenOver)
}
