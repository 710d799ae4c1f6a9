package bot_test

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/sqlite"
)

// The crash test starts itself again as the service that is killed: where its record
// is and how far each technician got is in its environment.
const (
	crashDir    = "PROVEOUT_CRASH_DIR"
	crashRecord = "PROVEOUT_CRASH_RECORD" // a database; else it is a file in the folder
	crashFrom   = "PROVEOUT_CRASH_FROM"
	crashRounds = "ROUNDS"
)

// crashTechs work at once, and a job of theirs takes crashJob messages.
const (
	crashTechs = 6
	crashJob   = 25
)

func crashConfig() bot.Config {
	c := larkmoor()
	for i := range crashTechs {
		c.People[fmt.Sprint("t", i)] = &bot.Person{Role: bot.TechnicianRole, Identities: map[string]string{channel: fmt.Sprint("T", i)}}
	}
	return c
}

// crashMessage is a technician's nth message.
func crashMessage(tech, n int) bot.Inbound {
	text := fmt.Sprintf("%d at the yellow outside, %d at the coil", 22+n%8, n%3)
	if n%crashJob == 0 {
		text = "outdoor unit dead, blower runs"
	}
	return bot.Inbound{
		Channel: channel, ID: fmt.Sprintf("%d-%d", tech, n), Conversation: room, Thread: fmt.Sprintf("t%d-%d", tech, n/crashJob),
		From: fmt.Sprint("T", tech), Kind: bot.Said, Text: text,
	}
}

// ledger is the channel of the crash test: what was delivered, a line each, in a file
// that outlives the process.
type ledger struct {
	mu   sync.Mutex
	file *os.File
}

func (l *ledger) Send(_ context.Context, m bot.Outbound) (string, error) {
	line, err := json.Marshal([]string{m.ID, m.Text})
	if err != nil {
		return "", err
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	_, err = l.file.Write(append(line, '\n'))
	return "", err
}

// crashStore opens the record, once nobody else holds it.
func crashStore(t *testing.T, dir, database string) bot.Store {
	t.Helper()
	if database == "" {
		store, err := sqlite.Open(t.Context(), filepath.Join(dir, "record.db"), sqlite.Options{})
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, store.Close()) })
		return store
	}
	d, err := postgres.Open(t.Context(), database)
	require.NoError(t, err)
	t.Cleanup(d.Close)
	store, err := d.Join(t.Context(), "larkmoor")
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	return store
}

// crashShop opens the service of the crash test.
func crashShop(t *testing.T, dir, database string) (*bot.Service, bot.Store) {
	t.Helper()
	base, err := trade()
	require.NoError(t, err)
	store := crashStore(t, dir, database)
	service, err := bot.New(store, base, crashConfig(), bot.Options{})
	require.NoError(t, err)
	file, err := os.OpenFile(filepath.Join(dir, "delivered"), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, file.Close()) })
	require.NoError(t, service.Register(channel, &ledger{file: file}))
	require.NoError(t, service.Restore(t.Context()))
	return service, store
}

// TestServiceToBeKilled is the service under load, when it is started for it.
func TestServiceToBeKilled(t *testing.T) {
	dir := os.Getenv(crashDir)
	if dir == "" {
		t.Skip("the crash test starts this one")
	}
	service, _ := crashShop(t, dir, os.Getenv(crashRecord))
	go func() { _ = service.Run(t.Context()) }()
	var wg sync.WaitGroup
	for tech, from := range strings.Split(os.Getenv(crashFrom), ",") {
		n, err := strconv.Atoi(from)
		require.NoError(t, err)
		wg.Go(func() {
			for ; ; n++ {
				err := service.Receive(t.Context(), crashMessage(tech, n))
				if code := bot.CodeOf(err); code == bot.CodeUnreachable || code == bot.CodeClosed {
					return // its database was killed: nothing is acknowledged
				}
				if err != nil {
					fmt.Printf("error %v\n", err)
					return
				}
				fmt.Printf("ack %d %d\n", tech, n)
			}
		})
	}
	wg.Wait()
}

// crashing starts the service that goes on where each technician is.
func crashing(t *testing.T, dir, database string, next *[crashTechs]int) (*exec.Cmd, io.Reader) {
	t.Helper()
	from := make([]string, crashTechs)
	for i, n := range next {
		from[i] = strconv.Itoa(n)
	}
	child := exec.CommandContext(t.Context(), os.Args[0], "-test.run", "^TestServiceToBeKilled$", "-test.v")
	child.Env = append(os.Environ(), crashDir+"="+dir, crashRecord+"="+database, crashFrom+"="+strings.Join(from, ","))
	pipe, err := child.StdoutPipe()
	require.NoError(t, err)
	child.Stderr = os.Stderr
	require.NoError(t, child.Start())
	return child, pipe
}

// acknowledged reads what a service prints until it ends, and moves on what it has
// acknowledged.
func acknowledged(from io.Reader, next *[crashTechs]int, first func()) error {
	lines := bufio.NewScanner(from)
	for lines.Scan() {
		var tech, n int
		if _, err := fmt.Sscanf(lines.Text(), "ack %d %d", &tech, &n); err != nil {
			if strings.Contains(lines.Text(), "error") || strings.Contains(lines.Text(), "FAIL") {
				return errors.New("the service failed before it was killed: " + lines.Text())
			}
			continue
		}
		next[tech] = max(next[tech], n+1)
		if first != nil {
			first()
			first = nil
		}
	}
	_, _ = io.Copy(io.Discard, from)
	return nil
}

// crashOnce starts the service, kills it after a while under load, and moves on what
// it has acknowledged.
func crashOnce(t *testing.T, dir string, next *[crashTechs]int, after time.Duration) {
	t.Helper()
	child, out := crashing(t, dir, "", next)
	require.NoError(t, acknowledged(out, next, func() { time.AfterFunc(after, func() { _ = child.Process.Kill() }) }))
	require.Error(t, child.Wait(), "it was killed")
}

// crashes is how often the service is killed.
func crashes(t *testing.T, usual, short int) int {
	t.Helper()
	if s := os.Getenv(crashRounds); s != "" {
		n, err := strconv.Atoi(s)
		require.NoError(t, err)
		return n
	}
	if testing.Short() {
		return short
	}
	return usual
}

func TestNothingIsLostOrDoneTwiceWhenKilled(t *testing.T) {
	rounds := crashes(t, 20, 3)
	dir := t.TempDir()
	var next [crashTechs]int
	for range rounds {
		crashOnce(t, dir, &next, time.Duration(rand.N(int64(200*time.Millisecond))))
	}

	requireNothingLost(t, dir, "", &next, rounds)
}

// requireNothingLost has what was left delivered by one more start, and looks for what
// was acknowledged in the record and among what was delivered.
func requireNothingLost(t *testing.T, dir, database string, next *[crashTechs]int, rounds int) {
	t.Helper()
	service, store := crashShop(t, dir, database)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- service.Run(ctx) }()
	require.NoError(t, service.Flush(ctx))
	stop()
	require.NoError(t, <-ended)

	said := map[string]int{}
	var streams []string
	require.NoError(t, store.Restore(t.Context(), func(stream string, _ *bot.Snapshot, _ []bot.Event) error {
		streams = append(streams, stream)
		return nil
	}))
	for _, stream := range streams {
		_, events, err := store.Read(t.Context(), stream, true)
		require.NoError(t, err)
		for i := range events {
			if events[i].Kind == bot.EventSaid {
				said[events[i].Key.ID]++
			}
		}
	}
	acknowledged := 0
	for tech, to := range next {
		acknowledged += to
		for n := range to {
			require.Equal(t, 1, said[crashMessage(tech, n).ID], "message %d of technician %d was acknowledged", n, tech)
		}
	}
	text, repeated := delivered(t, filepath.Join(dir, "delivered"))
	for id, n := range said {
		require.Equal(t, 1, n, "message %s", id)
		require.NotEmpty(t, text[channel+"/"+id+".0"], "the reply to %s was never delivered", id)
	}
	t.Logf("%d rounds: %d messages acknowledged, %d in the record, %d messages delivered, %d of them again", rounds, acknowledged, len(said), len(text), repeated)
}

// delivered reads what was delivered, by id; none may come twice with another text.
func delivered(t *testing.T, path string) (text map[string]string, repeated int) {
	t.Helper()
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	text = map[string]string{}
	for line := range strings.Lines(string(b)) {
		var m [2]string
		if json.Unmarshal([]byte(line), &m) != nil {
			continue // cut off by a kill: it was not delivered
		}
		if before, ok := text[m[0]]; ok {
			require.Equal(t, before, m[1], "%s was delivered twice with different texts", m[0])
			repeated++
		}
		text[m[0]] = m[1]
	}
	return text, repeated
}
