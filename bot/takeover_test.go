package bot_test

import (
	"bufio"
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot/postgres/postgrestest"
)

// takenOver is the longest there may be between a service killed and the first message
// another has answered.
const takenOver = 5 * time.Second

// waiting returns when a service stands by: it waits for the lock the other holds.
func waiting(ctx context.Context, database string) error {
	c, err := pgx.Connect(ctx, database)
	if err != nil {
		return err
	}
	defer func() { _ = c.Close(ctx) }()
	for n := 0; n == 0; {
		if err := c.QueryRow(ctx, "SELECT count(*) FROM pg_sleep(0.02), pg_locks WHERE locktype = 'advisory' AND NOT granted").Scan(&n); err != nil {
			return err
		}
	}
	return nil
}

// Two services on one database: the one that answers is killed under load again and
// again, and once the database with it. The other takes over in time, and nothing is
// lost, nothing done twice.
func TestNothingIsLostOrDoneTwiceWhenAnotherTakesOver(t *testing.T) {
	server, err := postgrestest.Start(t.Context())
	if errors.Is(err, postgrestest.ErrMissing) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	database, err := server.Database(t.Context())
	require.NoError(t, err)
	dir := t.TempDir()
	rounds := crashes(t, 4, 1)
	var next [crashTechs]int
	var longest time.Duration

	type service struct {
		*exec.Cmd
		out io.Reader
	}
	start := func() service {
		cmd, out := crashing(t, dir, database, &next)
		return service{cmd, out}
	}
	answers := start()
	var killed time.Time
	for range rounds {
		var standsBy service
		watched := make(chan error, 1)
		acknowledged(t, answers.out, &next, func() {
			if !killed.IsZero() {
				longest = max(longest, time.Since(killed))
			}
			standsBy = start()
			go func() { // it goes on working meanwhile
				watched <- waiting(t.Context(), database)
				time.AfterFunc(time.Duration(rand.N(int64(200*time.Millisecond))), func() { _ = answers.Process.Kill() })
			}()
		})
		killed = time.Now() // its output has ended
		require.NoError(t, <-watched)
		require.Error(t, answers.Wait(), "it was killed")
		answers = standsBy
	}
	// Of the last only its first answer is read: the database dies under it.
	lines := bufio.NewScanner(answers.out)
	for lines.Scan() && !strings.HasPrefix(lines.Text(), "ack ") {
		require.NotContains(t, lines.Text(), "error")
	}
	longest = max(longest, time.Since(killed))
	require.NoError(t, server.Kill())
	_ = answers.Process.Kill()
	_ = answers.Wait() // by the signal, or by itself when it lost the record
	require.NoError(t, server.Run(t.Context()))

	requireNothingLost(t, dir, database, &next, rounds)
	t.Logf("taken over within %v", longest.Round(time.Millisecond))
	require.Less(t, longest, takenOver)
}
