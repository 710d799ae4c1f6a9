package soak_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/prometheus/procfs"
	"github.com/stretchr/testify/require"

	"proveout/bot/postgres/postgrestest"
)

// What an instance has of a core where each has its share, in percent: as little as
// leaves the database and the channel, on two cores, more than three instances can make
// them do, so that it is the instances that are scaled and not the machine.
const shareOfCore = 20

// How the instances are loaded: so many open jobs, and so many messages under way for
// each instance. It counts for a while when so many have been answered: what a shop knows
// of a person it reads when he first writes after it has started.
const (
	scaleJobs  = 3_000
	scaleEach  = 16
	scaleFirst = 3 * techs
	scaleTime  = 10 * time.Second
)

// BenchmarkScale is how many messages a second one, two and three instances on one
// database answer: each with its share of a core, and with all the machine has. Every
// message goes to any of them, a technician's in order, and counts when it is in the
// record.
func BenchmarkScale(b *testing.B) {
	server, err := postgrestest.Start(b.Context())
	if errors.Is(err, postgrestest.ErrMissing) {
		b.Skip(err)
	}
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, server.Stop()) })
	for n := 1; n <= 3; n++ {
		b.Run(fmt.Sprint("shares/", n), func(b *testing.B) { benchmarkScale(b, server, n, shareOfCore) })
	}
	for n := 1; n <= 3; n++ {
		b.Run(fmt.Sprint("free/", n), func(b *testing.B) { benchmarkScale(b, server, n, 0) })
	}
}

// benchmarkScale loads so many instances; without a percentage each takes what it gets.
func benchmarkScale(b *testing.B, server *postgrestest.Server, instances, percent int) {
	for b.Loop() {
		s := startScale(b, server, instances, percent)
		idle := s.load()
		require.Eventually(b, func() bool { return s.network.answered() >= scaleFirst }, 5*time.Minute, 20*time.Millisecond)
		letGo := s.share(percent)
		wait(b.Context(), time.Second) // for what was done without
		before, began := s.taken(), time.Now()
		wait(b.Context(), scaleTime)
		after, took := s.taken(), time.Since(began).Seconds()
		sum := s.network.since(began)
		idle()
		s.stop()
		letGo()
		b.ReportMetric(float64(sum.messages)/took, "messages/s")
		for i, who := range []string{"instances", "database", "channel"} {
			b.ReportMetric(100*(after[i]-before[i])/took, "core-%-"+who)
		}
		if percent > 0 {
			b.ReportMetric(float64(percent), "core-%-share")
		}
		if len(sum.again) > 0 {
			b.Logf("%d instances: brought in again: %v", instances, sum.again)
		}
	}
}

// scale is some instances on one database, and what loads them.
type scale struct {
	*testing.B
	instances []*instance
	network   *network
	database  int // its first process
	stop      func()
}

func startScale(b *testing.B, server *postgrestest.Server, instances, percent int) *scale {
	b.Helper()
	ctx, cancel := context.WithCancel(b.Context())
	address, err := server.Database(ctx)
	require.NoError(b, err)
	_, err = fill(ctx, address, scaleJobs, 0, time.Now(), 0)
	require.NoError(b, err)
	c, err := pgx.ParseConfig(address)
	require.NoError(b, err)
	s := &scale{B: b, database: ready(ctx, b, server.Superuser(c.Database))}
	dir := b.TempDir()
	sender := filepath.Join(dir, "channel")
	env := []string{instanceSender + "=" + sender, instanceRecord + "=" + address}
	if percent > 0 {
		env = append(env, "GOMAXPROCS=1")
	}
	var running sync.WaitGroup
	for n := range instances {
		i := &instance{n: n, dir: dir, enter: here, ended: make(chan struct{}), env: env}
		s.instances = append(s.instances, i)
		running.Go(func() {
			if err := i.run(ctx); err != nil {
				b.Error(err)
			}
		})
	}
	s.stop = func() {
		cancel()
		running.Wait()
	}
	s.network = newNetwork(s.instances)
	require.NoError(b, answer(ctx, sender, "Channel", s.network))
	for n, i := range s.instances {
		require.Eventually(b, i.ready, time.Minute, 20*time.Millisecond, "instance %d", n)
	}
	return s
}

// share gives each instance its share of a core from now on; what it gives takes the
// shares away, when the instances have ended.
func (s *scale) share(percent int) (letGo func()) {
	var shares []share
	letGo = func() {
		for _, part := range shares {
			require.NoError(s, part.remove())
		}
	}
	if percent == 0 {
		return letGo
	}
	for n, i := range s.instances {
		part, err := newShare(fmt.Sprintf("scale-%d-%d", os.Getpid(), n), percent)
		if err != nil {
			s.stop()
			letGo()
			s.Skip(err)
		}
		shares = append(shares, part)
		require.NoError(s, part.hold(i.pid()))
	}
	return letGo
}

// ready has a database know how much is in it, as one does that has run for a while, and
// gives its first process.
func ready(ctx context.Context, b *testing.B, address string) (pid int) {
	b.Helper()
	c, err := pgx.Connect(ctx, address)
	require.NoError(b, err)
	defer func() { require.NoError(b, c.Close(ctx)) }()
	_, err = c.Exec(ctx, "ANALYZE")
	require.NoError(b, err)
	p, err := procfs.NewProc(int(c.PgConn().PID()))
	require.NoError(b, err)
	stat, err := p.Stat()
	require.NoError(b, err)
	return stat.PPID
}

// load brings messages in until what it gives is called. Whoever has written waits for
// his turn again, so that no technician answers quicker than a person could.
func (s *scale) load() (idle func()) {
	ctx, cancel := context.WithCancel(s.Context())
	said := &talk{chance: rand.New(rand.NewPCG(8, 6)), jobs: scaleJobs}
	turns := make(chan int, techs)
	for _, tech := range said.chance.Perm(techs) {
		turns <- tech
	}
	var mu sync.Mutex
	var workers sync.WaitGroup
	for range scaleEach * len(s.instances) {
		workers.Go(func() {
			for ctx.Err() == nil {
				tech := <-turns
				mu.Lock()
				in := said.message(thread(tech+techs*said.chance.IntN(scaleJobs/techs)), tech)
				chance := rand.New(rand.NewPCG(said.chance.Uint64(), 0))
				mu.Unlock()
				in.At = time.Now()
				s.network.bring(ctx, in, chance)
				turns <- tech
			}
		})
	}
	return func() {
		cancel()
		workers.Wait()
	}
}

// pid is the process of an instance that is ready.
func (i *instance) pid() int {
	i.mu.Lock()
	defer i.mu.Unlock()
	return i.process.Pid
}

// taken are the seconds of a core the instances, the database and the channel have had.
func (s *scale) taken() (out [3]float64) {
	var instances procfs.Procs
	for _, i := range s.instances {
		p, err := procfs.NewProc(i.pid())
		require.NoError(s, err)
		instances = append(instances, p)
	}
	database, err := family(s.database)
	require.NoError(s, err)
	channel, err := procfs.Self()
	require.NoError(s, err)
	for i, all := range []procfs.Procs{instances, database, {channel}} {
		out[i], err = seconds(all...)
		require.NoError(s, err)
	}
	return out
}
