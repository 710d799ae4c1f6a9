package bot_test

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
	"proveout/knowledge"
)

// trade is the embedded knowledge, loaded once.
var trade = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

const (
	channel = "shopchat"
	room    = "service"
)

// larkmoor is the invented shop.
func larkmoor() bot.Config {
	person := func(name string, role bot.Role) *bot.Person {
		return &bot.Person{Name: name, Role: role, Identities: map[string]string{channel: "U-" + name}}
	}
	return bot.Config{
		Shop: "Larkmoor Heating & Air",
		People: map[string]*bot.Person{
			"ana": person("Ana", bot.TechnicianRole), "ben": person("Ben", bot.TechnicianRole),
			"sam": person("Sam", bot.SeniorRole), "dee": person("Dee", bot.DispatcherRole), "olu": person("Olu", bot.OwnerRole),
		},
		Channels: map[string]bot.Channel{channel: {Conversation: room}},
	}
}

// delivery is a message as a person sees it.
type delivery struct {
	to  string // a thread of the room, or @ and an identity
	id  string // the channel's
	out bot.Outbound
}

// phones is the channel: what was sent, and how it fails.
type phones struct {
	mu   sync.Mutex
	got  []delivery
	fail func(n int, m bot.Outbound) error // n counts the tries
	sent func(id string, m bot.Outbound)   // sees what was delivered; may be nil
	n    int
}

func (p *phones) Send(_ context.Context, m bot.Outbound) (string, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.n++
	if p.fail != nil {
		if err := p.fail(p.n, m); err != nil {
			return "", err
		}
	}
	to := m.Conversation + "/" + m.Thread
	if m.Conversation == "" {
		to = "@" + m.To
	}
	id := fmt.Sprint("x", p.n)
	p.got = append(p.got, delivery{to, id, m})
	if p.sent != nil {
		p.sent(id, m)
	}
	return id, nil
}

// sentTo has what is delivered seen.
func (p *phones) sentTo(sent func(id string, m bot.Outbound)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.sent = sent
}

// tries counts what was carried so far, delivered or not.
func (p *phones) tries() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.n
}

// last is what was delivered last.
func (p *phones) last() bot.Outbound {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.got[len(p.got)-1].out
}

// lastTo is what was delivered last to a number or a person, with the channel's id
// of it.
func (p *phones) lastTo(who string) (bot.Outbound, string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, d := range slices.Backward(p.got) {
		if d.out.Conversation == who || d.out.To == who {
			return d.out, d.id
		}
	}
	return bot.Outbound{}, ""
}

// delivered lists everything that was.
func (p *phones) delivered() []delivery {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.got)
}

// failBy makes deliveries fail, or with nil succeed again.
func (p *phones) failBy(fail func(n int, m bot.Outbound) error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fail = fail
}

// shop is a service in earnest: its record on the disk, its clock the bubble's.
type shop struct {
	*bot.Service
	t      *testing.T
	phones *phones
	path   string
	stop   func() // stops the service and closes the record
	n      int
	seen   int
}

// inShop runs a test in a bubble of time with a service running.
func inShop(t *testing.T, config bot.Config, test func(t *testing.T, s *shop)) {
	t.Helper()
	base, err := trade()
	require.NoError(t, err)
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		s := &shop{t: t, phones: &phones{}, path: filepath.Join(dir, "record.db")}
		s.start(base, config)
		defer func() { s.stop() }()
		test(t, s)
	})
}

func (s *shop) start(base *knowledge.Base, config bot.Config) {
	s.t.Helper()
	store, err := sqlite.Open(s.t.Context(), s.path, sqlite.Options{})
	require.NoError(s.t, err)
	s.Service, err = bot.New(store, base, config, bot.Options{})
	require.NoError(s.t, err)
	for name := range config.Channels {
		require.NoError(s.t, s.Register(name, s.phones))
	}
	require.NoError(s.t, s.Restore(s.t.Context()))
	ctx, cancel := context.WithCancel(s.t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Run(ctx) }()
	s.stop = func() {
		cancel()
		require.NoError(s.t, <-ended)
		require.NoError(s.t, store.Close())
	}
}

// restart stops the service and starts another on the same record.
func (s *shop) restart(config bot.Config) {
	s.t.Helper()
	base, err := trade()
	require.NoError(s.t, err)
	s.stop()
	s.start(base, config)
}

// inbound is a message of a person in a thread of the room; an empty thread is the
// room itself.
func (s *shop) inbound(who, thread, text string) bot.Inbound {
	s.n++
	in := bot.Inbound{
		Channel: channel, ID: fmt.Sprintf("%s-%d", who, s.n), Conversation: room, Thread: thread,
		From: "U-" + who, Kind: bot.Said, Text: text, At: time.Now(),
	}
	if thread == "" {
		in.Starts = "t" + in.ID
	}
	return in
}

// say has a person say something and gives what was sent for it, each on a line after
// whom it went to.
func (s *shop) say(who, thread, text string) string {
	s.t.Helper()
	return s.receive(s.inbound(who, thread, text))
}

func (s *shop) press(who, thread, action string) string {
	s.t.Helper()
	in := s.inbound(who, thread, "")
	in.Kind, in.Action = bot.Pressed, action
	return s.receive(in)
}

// command has a person give a command of the channel's own.
func (s *shop) command(who, text string) string {
	s.t.Helper()
	in := s.inbound(who, "", text)
	in.Kind, in.Action = bot.Pressed, bot.Command
	return s.receive(in)
}

func (s *shop) receive(in bot.Inbound) string {
	s.t.Helper()
	require.NoError(s.t, s.Receive(s.t.Context(), in))
	return s.sent()
}

// sent gives what was sent since it was last asked for.
func (s *shop) sent() string {
	time.Sleep(time.Second) // a delivery is noted with the next entry, or after a moment
	synctest.Wait()
	s.phones.mu.Lock()
	defer s.phones.mu.Unlock()
	var b strings.Builder
	for _, d := range s.phones.got[s.seen:] {
		fmt.Fprintf(&b, "[%s] %s\n", d.to, d.out.Text)
	}
	s.seen = len(s.phones.got)
	return b.String()
}
