package soak_test

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres/postgrestest"
)

// What `make soak` is told.
const (
	soakMinutes = "PROVEOUT_SOAK_MINUTES"
	soakJobs    = "PROVEOUT_SOAK_JOBS"
	soakSeed    = "PROVEOUT_SOAK_SEED"
)

// takenOver is the longest there may be between an instance killed and what waited then
// delivered.
const takenOver = 5 * time.Second

// wrong is how far a clock is set off.
const wrong = 5 * time.Minute

// size is how much of a soak there is.
type size struct {
	instances int
	jobs      int // open ones
	quiet     int // of those, that fall due while it runs
	burst     int // messages brought in within a second
	bursts    int // of a round
	replays   int // jobs worked out again after a round
	minutes   time.Duration
	hurried   bool // each fault once and for a shorter time
}

// soak is one run.
type soak struct {
	*testing.T
	size
	seed      uint64
	chance    *rand.Rand
	server    *postgrestest.Server
	inside    func(func() error) error // where the database is
	record    *record
	address   string // by the database's socket
	disk      *disk
	wires     *wires
	missing   map[string]error // why there is no network of our own, or no disk
	instances []*instance
	network   *network
	talk      *talk
	due       map[string]time.Time
	looked    time.Time // when the laws were looked at last: what was due then has been told by now
}

// The small one needs no rights. It is in the suite so that the large one is known to
// run, and to keep its laws where they are cheap to break.
func TestNothingIsLostWhenEverythingGoesWrongALittle(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes 20 seconds")
	}
	soaked(t, size{instances: 3, jobs: 300, quiet: 20, burst: 80, bursts: 1, replays: 20, minutes: time.Minute, hurried: true}, rand.Uint64(), false)
}

// TestSoak is the large one; make soak runs it.
func TestSoak(t *testing.T) {
	minutes := os.Getenv(soakMinutes)
	if minutes == "" {
		t.Skip("make soak runs it")
	}
	n, err := strconv.Atoi(minutes)
	require.NoError(t, err)
	jobs, err := strconv.Atoi(os.Getenv(soakJobs))
	require.NoError(t, err)
	seed := rand.Uint64()
	if s := os.Getenv(soakSeed); s != "" {
		seed, err = strconv.ParseUint(s, 10, 64)
		require.NoError(t, err)
	}
	soaked(t, size{instances: 3, jobs: jobs, quiet: 600, burst: 2000, bursts: 2, replays: 100, minutes: time.Duration(n) * time.Minute}, seed, true)
}

// soaked runs a soak; rights says whether it tries what only root may.
func soaked(t *testing.T, how size, seed uint64, rights bool) {
	t.Helper()
	if !postgrestest.Installed() && os.Getenv("CI") != "true" {
		t.Skip(postgrestest.ErrMissing)
	}
	s := &soak{T: t, size: how, seed: seed, chance: rand.New(rand.NewPCG(seed, 0)), inside: here, missing: map[string]error{}}
	t.Logf("seed %d: it decides what is said and what goes wrong; what happens at once is the machine's", seed)
	s.prepare(rights)
	s.start()
	if !s.hurried {
		s.round("nothing goes wrong", nil)
	}
	struck := map[string]int{}
	faults := s.faults()
	began := time.Now()
	for n := 0; !t.Failed() && (n < len(faults) || !s.hurried && time.Since(began) < s.minutes); n++ {
		if n%len(faults) == 0 {
			s.chance.Shuffle(len(faults), func(i, j int) { faults[i], faults[j] = faults[j], faults[i] })
		}
		if f := faults[n%len(faults)]; f.missing == nil {
			struck[f.name]++
			s.round(f.name, f.strike)
		}
	}
	wait(t.Context(), 2*tick)
	s.laws("in the end")
	s.summary(faults, struck)
}

// prepare lays the ground: network, disk, database, and the shop's open jobs.
func (s *soak) prepare(rights bool) {
	ctx := s.Context()
	var o postgrestest.Options
	late := context.WithoutCancel(ctx) // what is taken away is when the test is over
	if rights {
		var err error
		if s.wires, err = newWires(ctx, s.size.instances); err != nil {
			s.missing["network"] = err
		} else {
			s.Cleanup(func() { require.NoError(s, s.wires.remove(late)) })
			s.inside, o.Listen = in(spaceOfDatabase), database
		}
		const room = 6 << 30
		if s.disk, err = newDisk(ctx, room); err != nil {
			s.missing["disk"] = err
		} else {
			s.Cleanup(func() { require.NoError(s, s.disk.remove(late)) })
			o.Parent = s.disk.dir
		}
	} else {
		s.missing["network"] = errors.New("not tried in the small soak")
		s.missing["disk"] = s.missing["network"]
	}
	require.NoError(s, s.inside(func() (err error) {
		s.server, err = postgrestest.StartWith(ctx, o)
		return err
	}))
	s.Cleanup(func() { require.NoError(s, s.server.Stop()) })
	var err error
	s.address, err = s.server.Database(ctx)
	require.NoError(s, err)
	began := time.Now()
	s.due, err = fill(ctx, s.address, s.jobs, s.quiet, began.Add(s.minutes/10), s.minutes)
	require.NoError(s, err)
	s.record, err = openRecord(ctx, s.superuser())
	require.NoError(s, err)
	s.Logf("%d open jobs made in %v", s.jobs, time.Since(began).Round(time.Second))
}

// superuser is the database's address for the role that sees every shop.
func (s *soak) superuser() string {
	c, err := pgx.ParseConfig(s.address)
	require.NoError(s, err)
	return s.server.Superuser(c.Database)
}

// start starts the instances and the channel.
func (s *soak) start() {
	dir := s.TempDir()
	ctx, stop := context.WithCancel(s.Context())
	sender := filepath.Join(dir, "channel")
	for i := range s.size.instances {
		record, enter := s.address, here
		if s.wires != nil {
			record, enter = s.server.Over(database, s.address), in(space(i))
		}
		s.instances = append(s.instances, &instance{
			n: i, dir: dir, enter: enter, ended: make(chan struct{}), env: []string{instanceSender + "=" + sender, instanceRecord + "=" + record},
		})
	}
	s.network = newNetwork(s.instances)
	s.talk = &talk{chance: s.chance, jobs: s.jobs - s.quiet}
	require.NoError(s, answer(ctx, sender, "Channel", s.network))
	for _, i := range s.instances {
		go func() {
			if err := i.run(ctx); err != nil {
				s.Error(err)
			}
		}()
	}
	s.Cleanup(func() {
		stop()
		for _, i := range s.instances {
			<-i.ended
			if s.Failed() {
				s.Logf("the end of instance %d's log:\n%s", i.n, end(i.at()+".log"))
			}
		}
	})
	s.await("the instances to answer", time.Minute, func() (bool, error) { return s.answering() == len(s.instances), nil })
}

// end is the end of a file.
func end(path string) string {
	const most = 4000
	b, err := os.ReadFile(path)
	if err != nil {
		return err.Error()
	}
	return string(b[max(0, len(b)-most):])
}

// answering is how many instances do.
func (s *soak) answering() int {
	n := 0
	for _, i := range s.instances {
		if i.ready() {
			n++
		}
	}
	return n
}

// await waits for something to become so.
func (s *soak) await(what string, most time.Duration, so func() (bool, error)) {
	s.Helper()
	for began := time.Now(); ; wait(s.Context(), 100*time.Millisecond) {
		yes, err := so()
		if yes && err == nil {
			return
		}
		if time.Since(began) > most {
			s.Fatalf("waited %v for %s: %v", most, what, err)
		}
	}
}

// fault is something that goes wrong.
type fault struct {
	name    string
	missing error // why it cannot be had here
	// strike has it happen, keeps it up for a while and puts it right again. What it
	// gives says, when all is quiet again, what it cost; it may be nil.
	strike func(ctx context.Context) (func() string, error)
}

// victim is an instance, any of them.
func (s *soak) victim() *instance { return s.instances[s.chance.IntN(len(s.instances))] }

// lasts is how long something does.
func (s *soak) lasts(least, most time.Duration) time.Duration {
	if s.hurried {
		return least / 2
	}
	return least + time.Duration(s.chance.Int64N(int64(most-least)))
}

// faults are all that can go wrong.
func (s *soak) faults() []fault {
	cut := func(how func(context.Context, int, bool) error) func(context.Context) (func() string, error) {
		return func(ctx context.Context) (func() string, error) {
			i, lasts := s.victim(), s.lasts(6*time.Second, 15*time.Second)
			if err := how(ctx, i.n, true); err != nil {
				return nil, err
			}
			wait(ctx, lasts)
			return nil, how(ctx, i.n, false)
		}
	}
	skew := func(by time.Duration) func(context.Context) (func() string, error) {
		return func(ctx context.Context) (func() string, error) {
			i, lasts := s.victim(), s.lasts(8*time.Second, 15*time.Second)
			if err := i.sets(by); err != nil {
				return nil, err
			}
			wait(ctx, lasts)
			return nil, i.sets(0)
		}
	}
	return []fault{
		{"instance killed", nil, s.killInstance},
		{"database killed", nil, s.killDatabase},
		{"network silent", s.missing["network"], cut(silence)},
		{"link down", s.missing["network"], cut(unplug)},
		{"clock ahead", nil, skew(wrong)},
		{"clock behind", nil, skew(-wrong)},
		{"disk full", s.missing["disk"], s.fillDisk},
	}
}

func (s *soak) killInstance(ctx context.Context) (func() string, error) {
	i, lasts := s.victim(), s.lasts(2*time.Second, 6*time.Second)
	killed := time.Now()
	if err := i.kill(lasts); err != nil {
		return nil, err
	}
	waiting, err := s.record.pending(ctx)
	if err != nil {
		return nil, err
	}
	wait(ctx, lasts)
	return func() string {
		// Some of them were not the dead one's, so this is no less than what its own took.
		brought, last := s.network.latest(waiting, killed, i.n)
		if last > takenOver {
			s.Errorf("late: of %d messages that waited when an instance was killed the last was brought by another after %v", brought, last)
		}
		return fmt.Sprintf("%d waited then, the last delivered by another after %v", brought, last.Round(time.Millisecond))
	}, nil
}

func (s *soak) killDatabase(ctx context.Context) (func() string, error) {
	if err := s.server.Kill(); err != nil {
		return nil, err
	}
	wait(ctx, s.lasts(2*time.Second, 5*time.Second))
	return nil, s.restart(ctx)
}

// restart starts the database, and opens it for the laws.
func (s *soak) restart(ctx context.Context) error {
	began := time.Now()
	if err := s.inside(func() error { return s.server.Run(ctx) }); err != nil {
		return err
	}
	s.Logf("the database answers again after %v", time.Since(began).Round(time.Millisecond))
	return s.look(ctx)
}

// look opens the database for the laws.
func (s *soak) look(ctx context.Context) error {
	c, err := pgx.Connect(ctx, s.superuser())
	if err == nil {
		s.record.c = c
	}
	return err
}

func (s *soak) fillDisk(ctx context.Context) (func() string, error) {
	if err := s.disk.fill(); err != nil {
		return nil, err
	}
	wait(ctx, s.lasts(4*time.Second, 8*time.Second))
	if err := s.disk.free(); err != nil {
		return nil, err
	}
	// It may have given up when it could not even write down what it would do.
	const back = 10 * time.Second
	if within(ctx, back, s.look) == nil {
		return nil, nil
	}
	if err := s.server.Kill(); err != nil {
		return nil, err
	}
	return nil, s.restart(ctx)
}

// round brings in bursts while something goes wrong, waits until all is quiet, and looks
// at the laws.
func (s *soak) round(name string, strike func(context.Context) (func() string, error)) {
	s.Helper()
	ctx, began := s.Context(), time.Now()
	bursts := make([][]bot.Inbound, s.bursts)
	for i := range bursts {
		bursts[i] = s.talk.next(s.burst)
	}
	brought, between := make(chan struct{}), s.lasts(time.Second, 3*time.Second)
	chance := rand.New(rand.NewPCG(s.chance.Uint64(), 0))
	go func() {
		defer close(brought)
		for _, messages := range bursts {
			s.network.burst(ctx, messages, chance)
			wait(ctx, between)
		}
	}()
	var cost func() string
	if strike != nil {
		wait(ctx, time.Duration(200+s.chance.IntN(1000))*time.Millisecond)
		var err error
		cost, err = strike(ctx)
		require.NoError(s, err, name)
	}
	<-brought
	s.await("all to be quiet after: "+name, 5*time.Minute, s.quietly())
	quiet := time.Since(began)
	said := ""
	if cost != nil {
		said = "; " + cost()
	}
	c := s.network.since(began)
	s.Logf("%-16s %d messages acknowledged in %v, %.0f a second, %d in the best; the longest waited %v; all quiet after %v; brought in again: %v%s",
		name+":", c.messages, c.took.Round(time.Millisecond), float64(c.messages)/c.took.Seconds(), c.peak, c.longest.Round(time.Millisecond), quiet.Round(time.Millisecond), c.again, said)
	s.laws("after " + name)
}

// quietly says whether nothing is to be acknowledged or delivered any more, and from time
// to time how much is.
func (s *soak) quietly() func() (bool, error) {
	const often = 15 * time.Second
	said := time.Now()
	return func() (bool, error) {
		open, answering := s.network.open.Load(), s.answering()
		pending, err := s.record.pending(s.Context())
		if time.Since(said) > often {
			said = time.Now()
			s.Logf("%d messages wait for an acknowledgement, %d in the outbox; %d of %d instances answer; brought in again: %v",
				open, len(pending), answering, len(s.instances), s.network.failed())
		}
		return err == nil && open == 0 && len(pending) == 0 && answering == len(s.instances), err
	}
}

// laws looks at everything that must hold.
func (s *soak) laws(after string) {
	s.Helper()
	began := time.Now()
	t := &testimony{due: s.due, told: s.looked, early: time.Second}
	s.looked = began
	t.acked, t.came = s.network.seen()
	require.NoError(s, s.record.read(s.Context(), t))
	_, all := s.network.seen()
	t.then = all[len(t.came):]
	breaches := t.breaches()
	differ, answers, err := replayed(s.Context(), s.address, t.facts, s.replays, s.chance)
	require.NoError(s, err)
	breaches = append(breaches, differ...)
	slices.Sort(breaches)
	const shown = 20
	for _, b := range breaches[:min(shown, len(breaches))] {
		s.Errorf("%s: %s", after, b)
	}
	if len(breaches) > shown {
		s.Errorf("%s: and %d more", after, len(breaches)-shown)
	}
	alarms := 0
	for i := range t.facts {
		if t.facts[i].Kind == bot.EventAlarm {
			alarms++
		}
	}
	again := len(t.came) - len(t.owed)
	s.Logf("%s so far %d acknowledged, %d events, %d messages delivered (%d again), %d alarms; %d answers of %d jobs worked out again; %d breaches; looked for %v",
		after+":", len(t.acked), len(t.facts), len(t.came), again, alarms, answers, s.replays, len(breaches), time.Since(began).Round(time.Millisecond))
}

// summary says what the run has shown, and what it has not.
func (s *soak) summary(faults []fault, struck map[string]int) {
	slices.SortFunc(faults, func(a, b fault) int { return cmp.Compare(a.name, b.name) })
	var ran, missing []string
	for _, f := range faults {
		switch n := struck[f.name]; {
		case f.missing != nil:
			missing = append(missing, fmt.Sprintf("%s (%v)", f.name, f.missing))
		case n == 0:
			missing = append(missing, f.name+" (the soak ended before)")
		default:
			ran = append(ran, fmt.Sprintf("%s %d", f.name, n))
		}
	}
	verdict := "the laws HELD"
	if s.Failed() {
		verdict = "the laws were BROKEN"
	}
	s.Logf("%s, seed %d; went wrong: %s", verdict, s.seed, strings.Join(ran, ", "))
	for _, m := range missing {
		s.Logf("NOT RUN: %s", m)
	}
}
