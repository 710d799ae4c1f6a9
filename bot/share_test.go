package bot_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/postgres/postgrestest"
)

// shops are services of one shop on one database, with one clock and one channel.
type shops struct {
	services []*bot.Service
	store    *postgres.Store // the first's
	phones   *phones
	later    atomic.Int64 // nanoseconds the clock is ahead
}

func (s *shops) now() time.Time { return time.Now().Add(time.Duration(s.later.Load())) }

// any is a service, whichever comes to hand.
func (s *shops) any() *bot.Service { return s.services[rand.N(len(s.services))] }

// inShops starts so many services, which run until the test ends.
func inShops(t *testing.T, config bot.Config, n int) *shops {
	t.Helper()
	return inShopsOf(t, config, n, func(s *postgres.Store) bot.Store { return s })
}

// inShopsOf is inShops, each service on what a function makes of its record.
func inShopsOf(t *testing.T, config bot.Config, n int, of func(*postgres.Store) bot.Store) *shops {
	t.Helper()
	server, err := postgrestest.Start(t.Context())
	if errors.Is(err, postgrestest.ErrMissing) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	url, err := server.Database(t.Context())
	require.NoError(t, err)
	base, err := trade()
	require.NoError(t, err)
	s := &shops{phones: &phones{}}
	for range n {
		d, err := postgres.Open(t.Context(), url)
		require.NoError(t, err)
		t.Cleanup(d.Close)
		d.Clock = s.now
		store, err := d.Join(t.Context(), "larkmoor")
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, store.Close()) })
		if s.store == nil {
			s.store = store
		}
		one, err := bot.New(of(store), base, config, bot.Options{Now: s.now, Tick: time.Hour})
		require.NoError(t, err)
		for name := range config.Channels {
			require.NoError(t, one.Register(name, s.phones))
		}
		require.NoError(t, one.Restore(t.Context()))
		ctx, cancel := context.WithCancel(context.WithoutCancel(t.Context()))
		ended := make(chan error, 1)
		go func() { ended <- one.Run(ctx) }()
		t.Cleanup(func() {
			cancel()
			require.NoError(t, <-ended)
		})
		s.services = append(s.services, one)
	}
	return s
}

// settled waits until everything that was sent is delivered.
func (s *shops) settled(t *testing.T) {
	t.Helper()
	require.Eventually(t, func() bool {
		waiting, err := s.store.Pending(context.WithoutCancel(t.Context()))
		return err == nil && len(waiting) == 0
	}, 20*time.Second, 10*time.Millisecond)
}

func TestATalkGoesOnWhicheverServiceHearsIt(t *testing.T) {
	t.Parallel()
	s := inShops(t, larkmoor(), 3)
	const jobs, messages = 4, 12
	var wg sync.WaitGroup
	for n, who := range []string{"Ana", "Ben"} {
		wg.Go(func() {
			for job := range jobs {
				for i := range messages {
					text := fmt.Sprintf("%d at the yellow outside", 22+i%8)
					switch i {
					case 0:
						text = "new job outdoor unit dead, blower runs"
					case messages - 1:
						text = "close it out"
					}
					in := bot.Inbound{Channel: channel, ID: fmt.Sprintf("%d-%d-%02d", n, job, i), Conversation: "D-" + who, From: "U-" + who, Kind: bot.Said, Text: text}
					// As a channel does that hears nothing: again, to another service at once.
					var both sync.WaitGroup
					for range 1 + rand.N(2) {
						both.Go(func() {
							if err := s.any().Receive(t.Context(), in); err != nil {
								t.Error(err)
							}
						})
					}
					both.Wait()
				}
			}
		})
	}
	wg.Wait()
	s.settled(t)

	names, err := s.store.Jobs(t.Context())
	require.NoError(t, err)
	require.Len(t, names, 2*jobs, "one job for each that was opened")
	for _, name := range names {
		_, events, err := s.store.Read(t.Context(), name, true)
		require.NoError(t, err)
		var said []string
		answers := map[string]string{}
		for i := range events {
			switch e := &events[i]; e.Kind {
			case bot.EventSaid:
				said = append(said, e.Key.ID)
			case bot.EventAnswered:
				answers[e.Key.ID] = e.Text
			default:
			}
		}
		require.Len(t, said, messages, name)
		require.IsIncreasing(t, said, "each in its place")
		differences, _, err := bot.Replay(s.services[0].Agent(), s.services[0].Version(), events)
		require.NoError(t, err)
		require.Empty(t, differences, "every answer is what the record gives")
		last := ""
		for _, d := range s.phones.delivered() {
			if id := strings.TrimPrefix(d.out.ID, channel+"/"); d.out.Job == name {
				require.Greater(t, id, last, "answers are delivered in their order, each once")
				last = id
			}
		}
	}
}

func TestAnAlarmIsGivenOnceByAllServices(t *testing.T) {
	t.Parallel()
	c := larkmoor()
	c.Policy.Alarms = bot.Alarms{NoReading: 20, Slot: 60}
	s := inShops(t, c, 3)
	const jobs = 10
	for i := range jobs {
		in := bot.Inbound{Channel: channel, ID: fmt.Sprint("m", i), Conversation: room, Thread: fmt.Sprint("t", i), From: "U-Ana", Kind: bot.Said, Text: "outdoor unit dead, blower runs"}
		require.NoError(t, s.any().Receive(t.Context(), in))
	}
	for _, later := range []time.Duration{21 * time.Minute, 61 * time.Minute} {
		s.later.Store(int64(later))
		var wg sync.WaitGroup
		for _, one := range s.services {
			wg.Go(func() {
				for range 3 {
					if err := one.Watch(t.Context()); err != nil {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
	}
	s.settled(t)
	told := map[string]int{}
	for _, d := range s.phones.delivered() {
		if d.to == "@U-Dee" {
			told[d.out.Job]++
		}
	}
	require.Len(t, told, jobs)
	for job, n := range told {
		require.Equal(t, 2, n, "%s: of no reading, and of its slot", job)
	}
}

func TestWhatOneServiceDoesTheOthersShow(t *testing.T) {
	t.Parallel()
	s := inShops(t, larkmoor(), 2)
	changed, err := s.services[1].Changes(t.Context(), "dee", "")
	require.NoError(t, err)
	in := bot.Inbound{Channel: channel, ID: "m1", Conversation: room, Thread: "t1", From: "U-Ana", Kind: bot.Said, Text: "outdoor unit dead, blower runs"}
	require.NoError(t, s.services[0].Receive(t.Context(), in))
	<-changed
	board, err := s.services[1].Board("dee")
	require.NoError(t, err)
	require.Len(t, board.Jobs, 1)
	require.Equal(t, "J-1001", board.Jobs[0].Job)
	// A closed job leaves the board of both.
	in.ID, in.Text = "m2", "close it out"
	require.NoError(t, s.services[1].Receive(t.Context(), in))
	changed, err = s.services[0].Changes(t.Context(), "dee", "")
	require.NoError(t, err)
	for {
		if board, err = s.services[0].Board("dee"); len(board.Jobs) == 0 || err != nil {
			break
		}
		<-changed
	}
	require.NoError(t, err)
}

func TestWhoBeginToWriteInOneThreadAtOnceAreOnOneJob(t *testing.T) {
	t.Parallel()
	s := inShops(t, larkmoor(), 2)
	for thread := range 20 {
		var wg sync.WaitGroup
		for n, who := range []string{"Ana", "Ben", "Ana", "Ben"} {
			wg.Go(func() {
				in := bot.Inbound{Channel: channel, ID: fmt.Sprint(thread, who, n), Conversation: room, Thread: fmt.Sprint("t", thread), From: "U-" + who, Kind: bot.Said, Text: "outdoor unit dead, blower runs"}
				if err := s.services[n/2].Receive(t.Context(), in); err != nil {
					t.Error(err)
				}
			})
		}
		wg.Wait()
	}
	names, err := s.store.Jobs(t.Context())
	require.NoError(t, err)
	require.Len(t, names, 20)
}

// slow is a record one of whose services is overtaken after it has looked for the job of
// a thread.
type slow struct {
	*postgres.Store
	overtake func()
}

func (s *slow) JobAt(ctx context.Context, p bot.Place) (string, error) {
	id, err := s.Store.JobAt(ctx, p)
	if overtake := s.overtake; overtake != nil {
		s.overtake = nil
		overtake()
	}
	return id, err
}

// To hear of what another wrote is not to have decided on it.
func TestWhatIsHeardOfAfterADecisionIsNoExcuseForIt(t *testing.T) {
	t.Parallel()
	var overtaken *slow
	s := inShopsOf(t, larkmoor(), 2, func(store *postgres.Store) bot.Store {
		if overtaken == nil {
			overtaken = &slow{Store: store}
			return overtaken
		}
		return store
	})
	in := func(id, text string) bot.Inbound {
		return bot.Inbound{Channel: channel, ID: id, Conversation: room, Thread: "fresh", From: "U-Ana", Kind: bot.Said, Text: text}
	}
	overtaken.overtake = func() {
		require.NoError(t, s.services[1].Receive(t.Context(), in("m1", "outdoor unit dead, blower runs")))
		require.Eventually(t, func() bool { return len(s.services[0].OpenJobs(channel, "U-Ana")) == 1 }, 20*time.Second, time.Millisecond)
	}
	require.NoError(t, s.services[0].Receive(t.Context(), in("m2", "24 at the yellow outside")))
	require.Len(t, s.services[0].OpenJobs(channel, "U-Ana"), 1, "both are about one job")
}
