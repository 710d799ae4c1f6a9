package bot_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/postgres/postgrestest"
	"proveout/bot/sqlite"
)

// growthEvents are those of each job; what lies behind its snapshot is not read.
const growthEvents = 4

// BenchmarkGrowth is what a message costs in shops of 1,000, 10,000 and 100,000 open
// jobs, to any of them: in the smallest every talk is soon at hand, in the largest hardly
// one. The three take turns in one process, so that whatever else the machine does is met
// by all alike.
func BenchmarkGrowth(b *testing.B) {
	b.Run("sqlite", func(b *testing.B) {
		benchmarkGrowth(b, func(jobs int) bot.Store {
			store, err := sqlite.Open(b.Context(), filepath.Join(b.TempDir(), "record.db"), sqlite.Options{})
			require.NoError(b, err)
			b.Cleanup(func() { require.NoError(b, store.Close()) })
			fill(b, store, jobs, growthEvents)
			return store
		})
	})
	b.Run("postgres", func(b *testing.B) {
		server, err := postgrestest.Start(b.Context())
		if errors.Is(err, postgrestest.ErrMissing) {
			b.Skip(err)
		}
		require.NoError(b, err)
		b.Cleanup(func() { require.NoError(b, server.Stop()) })
		open := func(address string) *postgres.Database {
			d, err := postgres.Open(b.Context(), address)
			require.NoError(b, err)
			b.Cleanup(d.Close)
			return d
		}
		benchmarkGrowth(b, func(jobs int) bot.Store {
			address, err := server.Database(b.Context())
			require.NoError(b, err)
			quick, err := open(address+"&synchronous_commit=off&pool_max_conns=16").Own(b.Context(), "larkmoor")
			require.NoError(b, err)
			fill(b, quick, jobs, growthEvents)
			require.NoError(b, quick.Close())
			store, err := open(address).Join(b.Context(), "larkmoor")
			require.NoError(b, err)
			b.Cleanup(func() { require.NoError(b, store.Close()) })
			return store
		})
	})
}

func benchmarkGrowth(b *testing.B, filled func(jobs int) bot.Store) {
	sizes := []int{1_000, 10_000, 100_000}
	services := make([]*bot.Service, len(sizes))
	var stops []func()
	defer func() {
		for _, stop := range stops {
			stop()
		}
	}()
	for i, jobs := range sizes {
		services[i] = serveMany(b, filled(jobs))
		stops = append(stops, runMany(b, services[i]))
		warm(b, services[i])
	}
	took := make([][]time.Duration, len(sizes))
	chance := rand.New(rand.NewPCG(8, 1))
	run := int(time.Now().UnixNano())
	for n := 0; b.Loop(); n++ {
		for i, s := range services {
			began := time.Now()
			require.NoError(b, s.Receive(b.Context(), message(chance.IntN(sizes[i]), run+n)))
			took[i] = append(took[i], time.Since(began))
		}
	}
	for i, jobs := range sizes {
		b.ReportMetric(at(took[i], 0.5), fmt.Sprintf("ms-at-%d", jobs))
	}
}
