package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"net"
	"net/http"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/stretchr/testify/require"

	"proveout/adapters/sms"
	"proveout/adapters/sms/smstest"
	"proveout/bot"
	"proveout/bot/sqlite"
	"proveout/knowledge"
)

// A thousand texts of twenty technicians, one in ten delivered twice, one in ten after the
// one behind it, one answer in twenty refused by the gateway: each is handled once, in
// the order it was sent in, and every answer arrives.
func TestAThousandTextsOverABadNetwork(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("a thousand texts take half a minute")
	}
	const people, each = 20, 50
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	config := bot.Config{Shop: "Larkmoor Heating & Air", People: map[string]*bot.Person{}, Channels: map[string]bot.Channel{bot.Texts: {}}}
	number := func(i int) string { return fmt.Sprintf("+1303555%04d", 110+i) }
	for i := range people {
		id := fmt.Sprintf("tech-%02d", i)
		config.People[id] = &bot.Person{Name: id, Role: bot.TechnicianRole, Identities: map[string]string{bot.Texts: number(i)}}
	}
	store, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "record.db"), sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	service, err := bot.New(store, base, config, bot.Options{Backoff: 10 * time.Millisecond})
	require.NoError(t, err)
	gateway := gatewayOf(t, service, prometheus.NewRegistry())
	require.NoError(t, service.Restore(t.Context()))
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- service.Run(ctx) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	for range people * each / 20 {
		gateway.Refuse(19, smstest.Refusal{Status: http.StatusServiceUnavailable})
	}

	began := time.Now()
	var wg sync.WaitGroup
	for i := range people {
		wg.Go(func() { deliverBadly(t, gateway, number(i), each, uint64(i)) })
	}
	wg.Wait()
	require.NoError(t, service.Flush(t.Context()))
	t.Logf("%d texts in %v", people*each, time.Since(began).Round(time.Millisecond))

	jobs, err := store.Jobs(t.Context())
	require.NoError(t, err)
	require.Len(t, jobs, people)
	for _, id := range jobs {
		_, events, err := store.Read(t.Context(), id, true)
		require.NoError(t, err)
		require.Equal(t, saying(each), inOrderSent(events))
	}
	require.Empty(t, service.Undelivered())
	to := map[string]int{}
	for _, p := range gateway.Posts() {
		to[p.To]++
	}
	for i := range people {
		require.Equal(t, each, to[number(i)], "an answer to each text, once")
	}
}

// saying is what a technician texts.
func saying(n int) []string {
	out := []string{"no cooling, outdoor unit dead, blower runs"}
	for i := 1; i < n; i++ {
		out = append(out, fmt.Sprintf("suction is %d psi", 60+i))
	}
	return out
}

// deliverBadly delivers a technician's texts, some twice and some late.
func deliverBadly(t *testing.T, gateway *smstest.Server, from string, n int, seed uint64) {
	rng := rand.New(rand.NewPCG(seed, 1))
	first := time.Now().Add(-time.Minute)
	var all []*smstest.Delivery
	for i, text := range saying(n) {
		d := gateway.Say(from, shopNumber, text)
		d.SentAt = first.Add(time.Duration(i) * time.Second)
		all = append(all, d)
	}
	for i := 1; i+1 < n; i++ {
		if rng.IntN(10) == 0 {
			all[i], all[i+1] = all[i+1], all[i]
			i++
		}
	}
	for _, d := range all {
		times := 1
		if rng.IntN(10) == 0 {
			times = 2
		}
		for range times {
			if err := gateway.Deliver(t.Context(), d); err != nil {
				t.Errorf("delivering %q: %v", d.Text, err)
			}
		}
	}
}

// inOrderSent is what was said on a job, as its talk takes it: in the order it was sent.
func inOrderSent(events []bot.Event) []string {
	var said []bot.Event
	for i := range events {
		if e := events[i]; e.Kind == bot.EventSaid {
			at := slices.IndexFunc(said, func(o bot.Event) bool { return e.Before != 0 && o.Seq == e.Before })
			if at < 0 {
				at = len(said)
			}
			said = slices.Insert(said, at, e)
		}
	}
	out := make([]string, len(said))
	for i := range said {
		out[i] = said[i].Text
	}
	return out
}

// gatewayOf is a gateway of signed JSON whose texts a service takes.
func gatewayOf(t *testing.T, service *bot.Service, registry *prometheus.Registry) *smstest.Server {
	t.Helper()
	listen := func() net.Listener {
		l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
		require.NoError(t, err)
		return l
	}
	gateway := smstest.New(listen())
	t.Cleanup(func() { require.NoError(t, gateway.Close()) })
	described, err := sms.ReadGateway("../../deploy/sms/generic.yaml")
	require.NoError(t, err)
	described.Send.URL = gateway.URL()
	adapter, err := sms.New(service, sms.Options{
		Gateway: described, Number: shopNumber, Secrets: map[string]string{"webhook": gateway.Secret, "token": gateway.Token},
		Parts: t.TempDir(), Metrics: sms.NewMetrics(registry),
	})
	require.NoError(t, err)
	require.NoError(t, service.Register(bot.Texts, adapter))
	l := listen()
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- serveHTTP(ctx, l, adapter) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	gateway.DeliverTo("http://" + l.Addr().String())
	return gateway
}
