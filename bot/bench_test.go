package bot_test

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// The shop of the benchmarks: its open jobs, the events of each, and its technicians.
const (
	manyJobs   = 10_000
	manyEvents = 100
	manyTechs  = 500
)

// restartDir tells a process that it is the restart to be measured.
const restartDir = "PROVEOUT_RESTART_DIR"

func manyConfig() bot.Config {
	c := larkmoor()
	for i := range manyTechs {
		c.People[fmt.Sprint("t", i)] = &bot.Person{Role: bot.TechnicianRole, Identities: map[string]string{channel: fmt.Sprint("T", i)}}
	}
	c.Policy.Alarms = bot.Alarms{NoReading: -1, NoProgress: -1, ProposalWaiting: -1, Slot: -1}
	return c
}

func manyThread(job int) string { return fmt.Sprint("thread-", job) }

// nothing delivers to nobody.
type nothing struct{}

func (nothing) Send(context.Context, bot.Outbound) (string, error) { return "", nil }

// openMany opens the service on a file.
func openMany(tb testing.TB, path string) *bot.Service {
	tb.Helper()
	debug.SetGCPercent(bot.GarbagePercent) // as in a program that serves
	store, err := sqlite.Open(tb.Context(), path, sqlite.Options{})
	require.NoError(tb, err)
	tb.Cleanup(func() { require.NoError(tb, store.Close()) })
	return serveMany(tb, store)
}

// serveMany makes the service of a record ready.
func serveMany(tb testing.TB, store bot.Store) *bot.Service {
	tb.Helper()
	base, err := trade()
	require.NoError(tb, err)
	s, err := bot.New(store, base, manyConfig(), bot.Options{})
	require.NoError(tb, err)
	require.NoError(tb, s.Register(channel, nothing{}))
	require.NoError(tb, s.Restore(tb.Context()))
	return s
}

// runMany runs a service until what it gives is called.
func runMany(tb testing.TB, s *bot.Service) (stop func()) {
	tb.Helper()
	ctx, cancel := context.WithCancel(tb.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	return func() {
		require.NoError(tb, s.Flush(ctx))
		cancel()
		require.NoError(tb, <-ended)
	}
}

// pattern is a job as the service has recorded it: its events and the snapshot of
// them.
func pattern(tb testing.TB, dir string) ([]bot.Event, *bot.Snapshot) {
	tb.Helper()
	path := filepath.Join(dir, "pattern.db")
	s := openMany(tb, path)
	stop := runMany(tb, s)
	for i, text := range []string{
		"no cooling at 12 Fenwick. outdoor unit dead, blower runs", "contactor isnt pulled in", "27 at the yellow outside",
		"oil stain? none that i can see", "why", "what's left", "26 at the yellow", "how",
	} {
		require.NoError(tb, s.Receive(tb.Context(), bot.Inbound{
			Channel: channel, ID: fmt.Sprint("p", i), Conversation: room, Thread: "pattern", From: "T0", Kind: bot.Said, Text: text,
		}))
	}
	stop()
	look, err := sqlite.Open(tb.Context(), path, sqlite.Options{ReadOnly: true})
	require.NoError(tb, err)
	_, events, err := look.Read(tb.Context(), "J-1001", true)
	require.NoError(tb, err)
	at, _, err := look.Read(tb.Context(), "J-1001", false)
	require.NoError(tb, err)
	require.NotNil(tb, at)
	require.NoError(tb, look.Close())
	return events, at
}

// fill writes a shop's record: every job the pattern over and over.
func fill(tb testing.TB, store bot.Store, jobs, events int) {
	tb.Helper()
	pattern, at := pattern(tb, tb.TempDir())
	var next atomic.Int64
	var wg sync.WaitGroup
	for range 64 {
		wg.Go(func() {
			for job := int(next.Add(1)) - 1; job < jobs; job = int(next.Add(1)) - 1 {
				e, err := manyEntry(job, events, pattern, at)
				if err == nil {
					err = store.Append(tb.Context(), e)
				}
				if err != nil {
					tb.Error(err)
					return
				}
			}
		})
	}
	wg.Wait()
}

// fillFile writes the record of the shop of the benchmarks into a file.
func fillFile(tb testing.TB) string {
	tb.Helper()
	path := filepath.Join(tb.TempDir(), "record.db")
	store, err := sqlite.Open(tb.Context(), path, sqlite.Options{})
	require.NoError(tb, err)
	fill(tb, store, manyJobs, manyEvents)
	require.NoError(tb, store.Close())
	return path
}

func manyEntry(job, events int, pattern []bot.Event, at *bot.Snapshot) (*bot.Entry, error) {
	id, tech := fmt.Sprintf("J-%d", 1001+job), fmt.Sprint("t", job%manyTechs)
	e := &bot.Entry{Stream: id, At: time.Now()}
	for n := range events {
		v := pattern[0]
		if n > 0 {
			v = pattern[1+(n-1)%(len(pattern)-1)]
		}
		if v.Person != "" {
			v.Person = tech
		}
		v.Place.Thread, v.Key.ID = manyThread(job), fmt.Sprintf("%s-%d", id, n)
		e.Events = append(e.Events, v)
	}
	var live bot.Job
	if err := json.Unmarshal(at.Live, &live); err != nil {
		return nil, err
	}
	live.ID, live.Seq, live.Technician, live.Home.Thread = id, int64(events), tech, manyThread(job)
	b, err := json.Marshal(&live)
	e.Snapshot = &bot.Snapshot{Seq: live.Seq, Knowledge: at.Knowledge, Live: b, Talk: at.Talk}
	return e, err
}

// BenchmarkService is the service on a record of 10,000 open jobs and 1,000,000
// events.
func BenchmarkService(b *testing.B) {
	path := fillFile(b)
	b.Run("restart", func(b *testing.B) { benchmarkRestart(b, path) })
	b.Run("message", func(b *testing.B) { benchmarkMessage(b, path) })
	b.Run("messages", func(b *testing.B) { benchmarkMessages(b, path) })
}

// warm has every technician's job of the day at hand, as in a shop at work: a job that
// nobody has written to for long is read from the record first. It gives how long
// each of those took.
func warm(tb testing.TB, s *bot.Service) (cold []time.Duration) {
	tb.Helper()
	for job := range manyTechs {
		began := time.Now()
		require.NoError(tb, s.Receive(tb.Context(), message(job, int(began.UnixNano()))))
		cold = append(cold, time.Since(began))
	}
	return cold
}

// message is the nth message to a job.
func message(job, n int) bot.Inbound {
	return bot.Inbound{
		Channel: channel, ID: fmt.Sprintf("m%d-%d", job, n), Conversation: room, Thread: manyThread(job), From: fmt.Sprint("T", job%manyTechs),
		Kind: bot.Said, Text: fmt.Sprintf("%d at the yellow outside", 24+n%4),
	}
}

// TestRestartToBeMeasured is a restart, when it is started for it.
func TestRestartToBeMeasured(t *testing.T) {
	path := os.Getenv(restartDir)
	if path == "" {
		t.Skip("the benchmark of a restart starts this one")
	}
	began := time.Now()
	s := openMany(t, path)
	require.NoError(t, s.Receive(t.Context(), message(4711, int(began.UnixNano()))))
	took := time.Since(began)
	warm(t, s) // the memory is that of a shop at work
	status, err := os.ReadFile("/proc/self/status")
	require.NoError(t, err)
	_, peak, _ := strings.Cut(string(status), "VmHWM:")
	fmt.Printf("restart %d %s\n", took.Microseconds(), strings.Fields(peak)[0])
}

// benchmarkRestart is from the start of a process to its first reply stored, and the most
// memory it has taken when every technician was answered.
func benchmarkRestart(b *testing.B, path string) {
	var seconds, mib float64
	runs := 0
	for b.Loop() {
		child := exec.CommandContext(b.Context(), os.Args[0], "-test.run", "^TestRestartToBeMeasured$", "-test.v")
		child.Env = append(os.Environ(), restartDir+"="+path)
		out, err := child.CombinedOutput()
		require.NoError(b, err, "%s", out)
		var took, kib float64
		_, line, ok := bytes.Cut(out, []byte("restart "))
		require.True(b, ok, "%s", out)
		_, err = fmt.Sscanf(string(line), "%f %f", &took, &kib)
		require.NoError(b, err)
		seconds, mib, runs = seconds+took/1e6, mib+kib/1024, runs+1
	}
	b.ReportMetric(seconds/float64(runs), "s/restart")
	b.ReportMetric(mib/float64(runs), "MiB-peak")
}

// benchmarkMessage is one message to its reply stored, beside a bare insert made
// durable, in turns on the same disk; 500 of the jobs are at work.
func benchmarkMessage(b *testing.B, path string) {
	s := openMany(b, path)
	stop := runMany(b, s)
	cold := warm(b, s)
	bare, err := sql.Open("sqlite", "file:"+filepath.Join(b.TempDir(), "bare.db")+"?_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)")
	require.NoError(b, err)
	bare.SetMaxOpenConns(1)
	_, err = bare.ExecContext(b.Context(), "CREATE TABLE t (n INTEGER PRIMARY KEY, body TEXT)")
	require.NoError(b, err)
	body := strings.Repeat("x", 500)
	var inserts, messages []time.Duration
	run := time.Now().UnixNano()
	for n := 0; b.Loop(); n++ {
		began := time.Now()
		_, err := bare.ExecContext(b.Context(), "INSERT INTO t (body) VALUES (?)", body)
		inserts = append(inserts, time.Since(began))
		require.NoError(b, err)
		began = time.Now()
		err = s.Receive(b.Context(), message(n%manyTechs, int(run)+n))
		messages = append(messages, time.Since(began))
		require.NoError(b, err)
	}
	require.NoError(b, bare.Close())
	stop()
	b.ReportMetric(at(inserts, 0.5), "ms-insert-p50")
	b.ReportMetric(at(inserts, 0.99), "ms-insert-p99")
	b.ReportMetric(at(messages, 0.5), "ms-message-p50")
	b.ReportMetric(at(messages, 0.99), "ms-message-p99")
	b.ReportMetric(at(cold, 0.99), "ms-first-p99")
	b.ReportMetric(at(messages, 0.99)/at(inserts, 0.99), "p99-ratio")
}

// at is a quantile, in milliseconds.
func at(d []time.Duration, q float64) float64 {
	slices.Sort(d)
	return float64(d[min(len(d)-1, int(q*float64(len(d))))].Microseconds()) / 1000
}

// benchmarkMessages is how many messages a second are answered and stored when many
// write at once.
func benchmarkMessages(b *testing.B, path string) {
	s := openMany(b, path)
	stop := runMany(b, s)
	warm(b, s)
	var next atomic.Int64
	run := int(time.Now().UnixNano())
	b.SetParallelism(64)
	b.ResetTimer()
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			n := int(next.Add(1))
			if err := s.Receive(b.Context(), message(n%manyTechs, run+n)); err != nil {
				b.Error(err)
			}
		}
	})
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "messages/s")
	b.StopTimer()
	stop()
}
