package main

import (
	"context"
	"errors"
	"io"
	"net"
	"net/http"
	"path/filepath"
	"testing"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/rs/zerolog"
	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

func TestTheConfigurationsShownAreSound(t *testing.T) {
	t.Parallel()
	s, err := readShop("../../deploy/larkmoor.yaml", newLibrary(nil))
	require.NoError(t, err)
	require.Equal(t, "../../deploy/larkmoor.db", s.config.Record)
	shops, err := readShops([]string{"../../deploy/shops"}, newLibrary(nil))
	require.NoError(t, err)
	require.Len(t, shops, 2)
	require.NotEqual(t, shops[0].host(), shops[1].host())
	require.Contains(t, shops[1].base.Equipment, "split-with-lockout")
}

func TestWhatMachinesAskOfTheService(t *testing.T) {
	t.Parallel()
	base, err := loadKnowledge()
	require.NoError(t, err)
	store, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "record.db"), sqlite.Options{})
	require.NoError(t, err)
	defer func() { require.NoError(t, store.Close()) }()
	s := &shop{config: demoConfig("en")}
	service, err := bot.New(store, base, s.config, bot.Options{Metrics: bot.NewMetrics(s.count())})
	require.NoError(t, err)
	s.serves.Store(service)
	mux := (&listener{process: prometheus.NewRegistry(), shops: []*shop{s}}).handler()
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- serveHTTP(ctx, l, mux) }()
	get := func(path string) (int, string) {
		r, err := http.NewRequestWithContext(t.Context(), http.MethodGet, "http://"+l.Addr().String()+path, http.NoBody)
		require.NoError(t, err)
		answer, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		b, err := io.ReadAll(answer.Body)
		require.NoError(t, errors.Join(err, answer.Body.Close()))
		return answer.StatusCode, string(b)
	}
	code, _ := get("/healthz")
	require.Equal(t, http.StatusOK, code)
	code, text := get("/readyz")
	require.Equal(t, http.StatusServiceUnavailable, code)
	require.Contains(t, text, "the record is not read yet")
	require.NoError(t, service.Restore(t.Context()))
	code, _ = get("/readyz")
	require.Equal(t, http.StatusOK, code)
	require.NoError(t, service.Receive(t.Context(), bot.Inbound{
		Channel: "terminal", ID: "1", Conversation: bot.Tech, From: bot.Tech, Kind: bot.Said, Text: "outdoor unit dead, blower runs",
	}))
	_, text = get("/metrics")
	require.Contains(t, text, `proveout_messages_total{channel="terminal",kind="message",result="taken",shop="Larkmoor Heating & Air"} 1`)
	require.Contains(t, text, `proveout_outbox_messages{shop="Larkmoor Heating & Air"} 1`)
	require.Contains(t, text, `proveout_shop_ready{shop="Larkmoor Heating & Air"} 1`)
	require.Contains(t, text, "proveout_message_seconds_bucket")
	stop()
	require.NoError(t, <-ended)
}

func TestWhoHearsStopsBeforeWhoAnswers(t *testing.T) {
	t.Parallel()
	ctx, interrupt := context.WithCancel(t.Context())
	var order []string
	hear := part{"hear", func(ctx context.Context) error {
		<-ctx.Done()
		time.Sleep(10 * time.Millisecond) // it finishes what it took
		order = append(order, "hear")
		return nil
	}}
	desk := part{"desk", func(ctx context.Context) error {
		<-ctx.Done()
		order = append(order, "desk")
		return nil
	}}
	go interrupt()
	require.NoError(t, inOrder(ctx, zerolog.Nop(), []part{hear}, desk))
	require.Equal(t, []string{"hear", "desk"}, order)

	broken := part{"broken", func(context.Context) error { return errors.New("the token is refused") }}
	require.ErrorContains(t, inOrder(t.Context(), zerolog.Nop(), []part{broken}, desk), "the token is refused", "one that fails ends all")
}
