package bot_test

import (
	"context"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// Two shops of one process have closed a job on the same day; the one that keeps them
// for a day erases its own, and the other's is left alone.
func TestEachShopKeepsClosedJobsForAsLongAsItSays(t *testing.T) {
	t.Parallel()
	base, err := trade()
	require.NoError(t, err)
	var agents bot.Agents
	at := time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC)
	open := func(days int) *sqlite.Store {
		store, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, store.Close()) })
		require.NoError(t, store.Append(t.Context(), &bot.Entry{
			Stream: "J-1001", At: at, Closed: true,
			Events: []bot.Event{{Stream: "J-1001", Seq: 1, At: at, Kind: bot.EventOpened}, {Stream: "J-1001", Seq: 2, At: at, Kind: bot.EventClosed}},
		}))
		c := larkmoor()
		c.Retention.Days = days
		s, err := bot.New(store, base, c, bot.Options{Agents: &agents, Tick: time.Millisecond, Now: func() time.Time { return at.AddDate(0, 0, 3) }})
		require.NoError(t, err)
		require.NoError(t, s.Register(channel, nothing{}))
		require.NoError(t, s.Restore(t.Context()))
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- s.Run(ctx) }()
		t.Cleanup(func() {
			cancel()
			require.NoError(t, <-ended)
		})
		return store
	}
	forever, day := open(0), open(1)
	for jobs := 1; jobs > 0; {
		require.NoError(t, t.Context().Err())
		left, err := day.Jobs(t.Context())
		require.NoError(t, err)
		jobs = len(left)
	}
	left, err := forever.Jobs(t.Context())
	require.NoError(t, err)
	require.Equal(t, []string{"J-1001"}, left)
}
