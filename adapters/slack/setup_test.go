package slack_test

import (
	"context"
	"net"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/slack"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
)

// The people and the room of the tests.
const (
	room = "C0SHOP"
	dale = "U0DALE" // a technician
	rosa = "U0ROSA" // the senior
)

// shop is a workspace with the adapter in it.
type shop struct {
	*slacktest.Server
	adapter *slack.Adapter
	end     context.CancelFunc
	ended   <-chan error
}

// byHTTP has events delivered by HTTP; else they come by the socket.
type byHTTP bool

// open starts a workspace and an adapter that hears it until the test ends.
func open(t *testing.T, to slack.Receiver, board slack.Board, web byHTTP) *shop {
	t.Helper()
	server, err := slacktest.New(t.Context())
	require.NoError(t, err)
	t.Cleanup(server.Close)
	o := slack.Options{BotToken: server.BotToken, AppToken: server.AppToken, API: server.API(), Board: board}
	if board == nil {
		o.Board = jobs{}
	}
	if web {
		o.AppToken, o.SigningSecret = "", server.SigningSecret
	}
	adapter, err := slack.New(to, o)
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	s := &shop{Server: server, adapter: adapter, end: cancel, ended: ended}
	go func() { ended <- adapter.Run(ctx); close(ended) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	if web {
		server.SendTo(serve(t, adapter))
	}
	return s
}

// serve mounts a handler on a free port.
func serve(t *testing.T, h http.Handler) string {
	t.Helper()
	var lc net.ListenConfig
	l, err := lc.Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s := &http.Server{Handler: h, ReadHeaderTimeout: time.Second}
	done := make(chan struct{})
	go func() { defer close(done); _ = s.Serve(l) }()
	t.Cleanup(func() { _ = s.Close(); <-done })
	return "http://" + l.Addr().String()
}

// say has a person say something in the room, and wants it acknowledged.
func (s *shop) say(t *testing.T, user, text string) string {
	t.Helper()
	event, ts := s.Say(slacktest.Said{Conversation: room, User: user, Text: text})
	s.deliver(t, event)
	return ts
}

func (s *shop) deliver(t *testing.T, e *slacktest.Event) string {
	t.Helper()
	require.NotNil(t, e)
	answer, err := s.Deliver(t.Context(), e)
	require.NoError(t, err)
	return string(answer)
}

// send has the adapter send a message, and gives it as it is shown.
func (s *shop) send(t *testing.T, m bot.Outbound) slacktest.Post {
	t.Helper()
	if m.Conversation == "" && m.To == "" {
		m.Conversation = room
	}
	_, err := s.adapter.Send(t.Context(), m)
	require.NoError(t, err)
	in := m.Conversation
	if in == "" {
		in = "D" + m.To
	}
	posts := s.Posts(in)
	require.NotEmpty(t, posts)
	return posts[len(posts)-1]
}

// technician speaks in the room, and carrier shows what is sent there, for the laws
// of every adapter.
type (
	technician struct {
		server *slacktest.Server
		last   *slacktest.Event
	}
	carrier struct{ *slacktest.Server }
)

func (d *technician) Say(ctx context.Context, text string) error {
	d.last, _ = d.server.Say(slacktest.Said{Conversation: room, User: dale, Text: text})
	return d.Again(ctx)
}

func (d *technician) Again(ctx context.Context) error {
	_, err := d.server.Deliver(ctx, d.last)
	return err
}

func (c carrier) Shown() []string {
	var out []string
	for _, p := range c.Posts(room) {
		out = append(out, p.Shown)
	}
	return out
}

func (c carrier) Refuse(skip int, how conformance.Refusal) {
	switch how {
	case conformance.RateLimited:
		c.Server.Refuse(skip, slacktest.Refusal{Status: http.StatusTooManyRequests, RetryAfter: conformance.Pause})
	case conformance.Broken:
		c.Server.Refuse(skip, slacktest.Refusal{Status: http.StatusServiceUnavailable})
	case conformance.Rejected:
		c.Server.Refuse(skip, slacktest.Refusal{Code: "is_archived"})
	case conformance.CutOff:
		c.Server.Refuse(skip, slacktest.Refusal{Cut: true})
	case conformance.Lost:
		c.Server.Refuse(skip, slacktest.Refusal{Lose: true})
	}
}

// goroutines lists those that are in the code of the adapter or of its library.
func goroutines() string {
	buf := make([]byte, 1<<20)
	buf = buf[:runtime.Stack(buf, true)]
	var ours []string
	for g := range strings.SplitSeq(string(buf), "\n\n") {
		if strings.Contains(g, "slack-go/slack") || strings.Contains(g, "slack.(*Adapter)") {
			ours = append(ours, g)
		}
	}
	return strings.Join(ours, "\n\n")
}
