package sms_test

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/sms"
	"proveout/adapters/sms/smstest"
	"proveout/bot"
)

// The numbers of the tests.
const (
	shop = "+13035550100"
	ana  = "+13035550123"
)

// line is a gateway with the adapter at it, and a clock that can be put forward.
type line struct {
	*smstest.Server
	adapter  *sms.Adapter
	options  sms.Options
	registry *prometheus.Registry
	url      string
	ahead    atomic.Int64 // nanoseconds
}

func (l *line) now() time.Time { return time.Now().Add(time.Duration(l.ahead.Load())) }

// described reads a description of deploy/sms.
func described(t testing.TB, name string) sms.Gateway {
	t.Helper()
	g, err := sms.ReadGateway("../../deploy/sms/" + name)
	require.NoError(t, err)
	return g
}

func listen(t testing.TB) net.Listener {
	t.Helper()
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	return l
}

// open starts a gateway of signed JSON and an adapter at it.
func open(t testing.TB, to sms.Receiver) *line {
	t.Helper()
	l := &line{Server: smstest.New(listen(t)), registry: prometheus.NewRegistry()}
	t.Cleanup(func() { require.NoError(t, l.Close()) })
	l.Clock(l.now)
	g := described(t, "generic.yaml")
	g.Send.URL = l.URL()
	l.options = sms.Options{
		Gateway: g, Number: shop, Region: "US", Secrets: map[string]string{"webhook": l.Secret, "token": l.Token},
		Parts: t.TempDir(), Now: l.now, Metrics: sms.NewMetrics(l.registry),
	}
	l.again(t, to)
	return l
}

// again puts a fresh adapter at the gateway, as after a restart.
func (l *line) again(t testing.TB, to sms.Receiver) {
	t.Helper()
	adapter, err := sms.New(to, l.options)
	require.NoError(t, err)
	l.adapter = adapter
	l.url = serve(t, adapter)
	l.DeliverTo(l.url)
}

// serve mounts a handler on a free port.
func serve(t testing.TB, h http.Handler) string {
	t.Helper()
	l := listen(t)
	s := &http.Server{Handler: h, ReadHeaderTimeout: time.Second}
	done := make(chan struct{})
	go func() { defer close(done); _ = s.Serve(l) }()
	t.Cleanup(func() { _ = s.Close(); <-done })
	return "http://" + l.Addr().String()
}

// says has Ana text something, and wants it acknowledged.
func (l *line) says(t testing.TB, text string) *smstest.Delivery {
	t.Helper()
	d := l.Say(ana, shop, text)
	require.NoError(t, l.Deliver(t.Context(), d))
	return d
}

// counted is a counter of the adapter's, by the words of its labels.
func (l *line) counted(t testing.TB, name string, labels ...string) float64 {
	t.Helper()
	families, err := l.registry.Gather()
	require.NoError(t, err)
	sum := 0.0
	for _, f := range families {
		for _, m := range f.GetMetric() {
			var has []string
			for _, p := range m.GetLabel() {
				has = append(has, p.GetValue())
			}
			if f.GetName() == name && fmt.Sprint(has) == fmt.Sprint(labels) {
				sum += m.GetCounter().GetValue()
			}
		}
	}
	return sum
}

// technician speaks by text, and carrier shows what reaches her, for the laws of every
// adapter.
type (
	technician struct {
		line *line
		last *smstest.Delivery
	}
	carrier struct{ *line }
)

func (d *technician) Say(ctx context.Context, text string) error {
	d.last = d.line.Say(ana, shop, text)
	return d.Again(ctx)
}

func (d *technician) Again(ctx context.Context) error { return d.line.Deliver(ctx, d.last) }

func (c carrier) Shown() []string {
	var out []string
	for _, p := range c.Posts() {
		out = append(out, p.Text)
	}
	return out
}

func (c carrier) Secrets() []string { return []string{c.Token, c.Secret, ana} }

func (c carrier) Refuse(skip int, how conformance.Refusal) {
	switch how {
	case conformance.RateLimited:
		c.Server.Refuse(skip, smstest.Refusal{Status: http.StatusTooManyRequests, RetryAfter: conformance.Pause})
	case conformance.Broken:
		c.Server.Refuse(skip, smstest.Refusal{Status: http.StatusServiceUnavailable})
	case conformance.Rejected:
		c.Server.Refuse(skip, smstest.Refusal{Code: "unreachable"})
	case conformance.CutOff:
		c.Server.Refuse(skip, smstest.Refusal{Cut: true})
	case conformance.Lost:
		c.Server.Refuse(skip, smstest.Refusal{Lose: true})
	}
}

// outbound is what somebody said, for Ana.
func outbound(id, text string) bot.Outbound {
	return bot.Outbound{ID: id, Channel: bot.Texts, Conversation: ana, Text: text, Quoted: true}
}

// texts are those of events in order.
func texts(got []bot.Inbound) string {
	var out []string
	for _, in := range got {
		out = append(out, in.Text)
	}
	return strings.Join(out, "|")
}
