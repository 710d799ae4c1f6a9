package main

import (
	"context"
	"fmt"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/require"

	"proveout/adapters/slack/slacktest"
	"proveout/adapters/sms/smstest"
	"proveout/bot"
	"proveout/bot/sqlite"
)

// tenant is one shop of an installation, with the workspace and the gateway it has.
type tenant struct {
	*slacktest.Server
	texts              *smstest.Server
	room, host, number string
	only               string           // the id in Slack of somebody no other shop knows
	refused            atomic.Bool      // its workspace refuses the token
	front              *httptest.Server // as the proxy before it passes on
}

// tenants are two shops one process serves at one address.
type tenants struct {
	*installation
	lark, wren *tenant
	at         http.Handler
	log        *logged
}

// keepFile writes a file of an installation.
func keepFile(t testing.TB, path, text string) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o700))
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
}

// configured writes a shop's configuration, what it names and its secrets into a folder.
// Three of its people have the same identities in every shop.
func configured(t testing.TB, dir, key, name, record, more string) *tenant {
	t.Helper()
	server, err := slacktest.New(t.Context())
	require.NoError(t, err)
	t.Cleanup(server.Close)
	l, err := (&net.ListenConfig{}).Listen(t.Context(), "tcp", "127.0.0.1:0")
	require.NoError(t, err)
	v := &tenant{
		Server: server, texts: smstest.New(l), room: "C0" + strings.ToUpper(key), host: key + ".example",
		number: fmt.Sprintf("+1303555%04d", 100+len(key)), only: "U0" + strings.ToUpper(key),
	}
	t.Cleanup(func() { require.NoError(t, v.texts.Close()) })
	server.BotToken, server.SigningSecret, v.texts.Secret = "xoxb-of-"+key, "signing-secret-of-"+key, "webhook-of-"+key
	for name, secret := range map[string]string{"bot": server.BotToken, "signing": server.SigningSecret, "webhook": v.texts.Secret, "token": v.texts.Token} {
		keepFile(t, filepath.Join(dir, "secrets", key+"-"+name), secret)
	}
	gateway, err := os.ReadFile("../../deploy/sms/generic.yaml")
	require.NoError(t, err)
	keepFile(t, filepath.Join(dir, "gateways", key+".yaml"), strings.Replace(string(gateway), "https://gateway.example/v1/messages", v.texts.URL(), 1))
	keepFile(t, filepath.Join(dir, key+".yaml"), strings.NewReplacer(
		"KEY", key, "NAME", name, "RECORD", record, "ROOM", v.room, "API", v.methods(t), "HOST", v.host, "NUMBER", v.number, "ONLY", v.only,
	).Replace(`shop: NAME
record: RECORD
listen: 127.0.0.1:0
people:
  ana: {name: Ana Reyes, role: technician, identities: {slack: U0ANA, sms: "+1 303 555 0123"}}
  sam: {name: Sam Okoro, role: senior, identities: {slack: U0SAM}}
  dee: {name: Dee Marsh, role: dispatcher, identities: {slack: U0DEE}}
  only-KEY: {name: Only KEY, role: senior, identities: {slack: ONLY}}
channels:
  slack:
    conversation: ROOM
    settings: {api: "API"}
    secrets: {bot-token: {file: secrets/KEY-bot}, signing-secret: {file: secrets/KEY-signing}}
  sms:
    settings: {gateway: gateways/KEY.yaml, number: "NUMBER", parts: KEY-parts}
    secrets: {webhook: {file: secrets/KEY-webhook}, token: {file: secrets/KEY-token}}
  web: {settings: {public: "http://HOST"}}
`)+more)
	return v
}

// methods is the address of the workspace's methods, which may refuse the token.
func (v *tenant) methods(t testing.TB) string {
	t.Helper()
	to, err := url.Parse(strings.TrimSuffix(v.API(), "/api/"))
	require.NoError(t, err)
	pass := httputil.NewSingleHostReverseProxy(to)
	pass.ErrorLog = log.New(io.Discard, "", 0) // it ends with the test
	api := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if v.refused.Load() && r.URL.Path == "/api/auth.test" {
			fmt.Fprint(w, `{"ok": false, "error": "invalid_auth"}`)
			return
		}
		pass.ServeHTTP(w, r)
	}))
	t.Cleanup(api.Close)
	return api.URL + "/api/"
}

// inFiles keeps the record of a shop in a file beside its configuration.
func inFiles(key string) string { return key + ".db" }

// openTenants serves two shops until the test ends; record says where their records are,
// more what their configurations say besides, and before is done before they are started.
func openTenants(t testing.TB, record func(key string) string, more map[string]string, before func(h *tenants, dir string)) *tenants {
	t.Helper()
	dir := t.TempDir()
	h := &tenants{log: &logged{}}
	h.lark = configured(t, dir, "larkmoor", "Larkmoor Heating & Air", record("larkmoor"), more["larkmoor"])
	h.wren = configured(t, dir, "wrenfield", "Wrenfield Cooling", record("wrenfield"), more["wrenfield"])
	before(h, dir)
	shops, err := readShops([]string{dir}, newLibrary(nil))
	require.NoError(t, err)
	h.installation, err = newInstallation(shops, zerolog.New(h.log).Level(zerolog.InfoLevel))
	require.NoError(t, err)
	h.least = time.Millisecond
	ctx, cancel := context.WithCancel(t.Context())
	heard, err := h.listen(ctx)
	require.NoError(t, err)
	require.Len(t, heard, 1, "they share it")
	for at := range heard {
		h.at = at.handler()
	}
	for _, v := range []*tenant{h.lark, h.wren} {
		v.front = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			r.Host = v.host
			h.at.ServeHTTP(w, r)
		}))
		t.Cleanup(v.front.Close)
		v.SendTo(v.front.URL + "/slack")
		v.texts.DeliverTo(v.front.URL)
	}
	ended := make(chan error, 1)
	go func() { ended <- h.run(ctx, heard) }()
	t.Cleanup(func() {
		cancel()
		require.NoError(t, <-ended)
	})
	return h
}

// atEase is nothing to do before shops are started.
func atEase(*tenants, string) {}

// get asks for a path under a name.
func (h *tenants) get(t testing.TB, host, path string) (status int, body string) {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, path, http.NoBody)
	r.Host = host
	w := httptest.NewRecorder()
	h.at.ServeHTTP(w, r)
	return w.Code, w.Body.String()
}

// until asks until it is answered as it should be.
func (h *tenants) until(t testing.TB, host, path string, status int) {
	t.Helper()
	soon(t, func() bool {
		got, _ := h.get(t, host, path)
		return got == status
	})
}

// soon waits until something holds; it gives up where a test would hang.
func soon(t testing.TB, holds func() bool) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	for !holds() {
		select {
		case <-ctx.Done():
			require.NoError(t, ctx.Err())
		case <-time.After(time.Millisecond):
		}
	}
}

// says has somebody say something in the shop's room, again until it is acknowledged.
func (v *tenant) says(t testing.TB, who, text string) {
	t.Helper()
	event, _ := v.Say(slacktest.Said{Conversation: v.room, User: who, Text: text})
	soon(t, func() bool {
		_, err := v.Deliver(t.Context(), event)
		return err == nil
	})
}

func TestEachShopIsAskedForByItsOwnName(t *testing.T) {
	t.Parallel()
	h := openTenants(t, inFiles, nil, atEase)
	h.until(t, "", "/readyz", http.StatusOK)
	for _, name := range []string{"larkmoor.example", "LARKMOOR.example:443"} {
		status, page := h.get(t, name, "/sign-in")
		require.Equal(t, http.StatusOK, status)
		require.Contains(t, page, "Larkmoor Heating &amp; Air")
		require.NotContains(t, page, "Wrenfield")
	}
	_, page := h.get(t, h.wren.host, "/sign-in")
	require.Contains(t, page, "Wrenfield Cooling")
	for _, name := range []string{"", "127.0.0.1:9464", "example", "x.larkmoor.example", "larkmoor.example.", "larkmoor.example/"} {
		for _, path := range []string{"/", "/sign-in", "/slack", "/board"} {
			status, page := h.get(t, name, path)
			require.Equal(t, http.StatusNotFound, status, name)
			require.Equal(t, "404 page not found\n", page)
		}
	}

	h.lark.says(t, ana, "no cooling at 12 Fenwick. outdoor unit dead, blower runs")
	_, err := h.lark.WaitPosts(t.Context(), h.lark.room, 1)
	require.NoError(t, err)
	require.Empty(t, h.wren.Posts(h.wren.room))

	// Machines ask under no shop's name, of all of them, and under a shop's of it alone.
	_, text := h.get(t, "127.0.0.1:9464", "/metrics")
	require.Contains(t, text, `proveout_messages_total{channel="slack",kind="message",result="taken",shop="Larkmoor Heating & Air"} 1`)
	require.Contains(t, text, `proveout_shop_ready{shop="Wrenfield Cooling"} 1`)
	require.Contains(t, text, "process_resident_memory_bytes")
	for _, path := range []string{"/healthz", "/readyz"} {
		for _, name := range []string{"", h.lark.host, h.wren.host} {
			status, _ := h.get(t, name, path)
			require.Equal(t, http.StatusOK, status)
		}
	}
	status, text := h.get(t, h.wren.host, "/metrics")
	require.Equal(t, http.StatusNotFound, status)
	require.NotContains(t, text, "Larkmoor")

	logged := h.log.String()
	require.Contains(t, logged, `"shop":"Larkmoor Heating & Air"`)
	for line := range strings.Lines(logged) {
		require.True(t, strings.Contains(line, `"shop":`) || strings.Contains(line, `"message":"listening"`), line)
	}
}

// A part of one shop fails, is told of with its shop, and started again; the other does
// not notice.
func TestOneShopsTroubleIsItsOwn(t *testing.T) {
	t.Parallel()
	h := openTenants(t, inFiles, nil, func(h *tenants, _ string) { h.lark.refused.Store(true) })
	soon(t, func() bool { return strings.Contains(h.log.String(), "the shop has failed") })
	h.wren.says(t, ana, "no cooling at 12 Fenwick. outdoor unit dead, blower runs")
	_, err := h.wren.WaitPosts(t.Context(), h.wren.room, 1)
	require.NoError(t, err)
	h.until(t, "", "/readyz", http.StatusServiceUnavailable)
	_, text := h.get(t, "", "/metrics")
	require.Contains(t, text, `proveout_shop_ready{shop="Wrenfield Cooling"} 1`)
	_, why := h.get(t, "", "/readyz")
	require.NotContains(t, why, "Wrenfield")

	h.lark.refused.Store(false)
	h.until(t, "", "/readyz", http.StatusOK)
	h.until(t, h.lark.host, "/sign-in", http.StatusOK)
	h.lark.says(t, ana, "no cooling at 8 Alder Court. outdoor unit dead, blower runs")
	_, err = h.lark.WaitPosts(t.Context(), h.lark.room, 1)
	require.NoError(t, err)
	for line := range strings.Lines(h.log.String()) {
		if strings.Contains(line, "the shop has failed") {
			require.Contains(t, line, `"shop":"Larkmoor Heating & Air"`)
			require.Contains(t, line, "the bot token is refused")
			require.NotContains(t, line, h.lark.BotToken)
		}
	}
}

// What a shop has learned from its own jobs moves its own priors; the other, which knows
// the same otherwise, has none of it.
func TestWhatAShopHasLearnedIsItsOwn(t *testing.T) {
	t.Parallel()
	const fault = "contactor-coil/open"
	learning := "learning: {on: true, weight: 10}\n"
	h := openTenants(t, inFiles, map[string]string{"larkmoor": learning, "wrenfield": learning}, func(_ *tenants, dir string) {
		store, err := sqlite.Open(t.Context(), filepath.Join(dir, "wrenfield.db"), sqlite.Options{})
		require.NoError(t, err)
		for i := range 5 {
			at := time.Now()
			require.NoError(t, store.Append(t.Context(), &bot.Entry{Stream: fmt.Sprint("J-", 1001+i), At: at, Closed: true, Events: []bot.Event{
				{At: at, Kind: bot.EventOpened}, {At: at, Kind: bot.EventClosed, Verdict: bot.ClosedProven, Fault: fault},
			}}))
		}
		require.NoError(t, store.Close())
	})
	h.until(t, "", "/readyz", http.StatusOK)
	share := func(v *tenant) float64 {
		for _, f := range h.of(v).serves.Load().Handbook("en").Faults {
			if f.ID == fault {
				return f.Share
			}
		}
		return 0
	}
	require.Greater(t, share(h.wren), 2*share(h.lark))
	require.Contains(t, h.of(h.wren).serves.Load().Version(), "+")
	require.NotContains(t, h.of(h.lark).serves.Load().Version(), "+")
}

// The database of both shops dies and comes back: so do they, and take what comes again.
func TestShopsComeBackWithTheirDatabase(t *testing.T) {
	t.Parallel()
	server, address := aDatabase(t)
	h := openTenants(t, func(key string) string { return address + "#" + key }, nil, atEase)
	h.until(t, "", "/readyz", http.StatusOK)
	h.lark.says(t, ana, "no cooling at 12 Fenwick. outdoor unit dead, blower runs")
	require.NoError(t, server.Kill())
	soon(t, func() bool { return strings.Count(h.log.String(), "the shop has failed") > 2 })
	require.NoError(t, server.Run(t.Context()))
	h.wren.says(t, ana, "no cooling at 8 Alder Court. outdoor unit dead, blower runs")
	h.lark.text(t, "contactor isnt pulled in")
	h.until(t, "", "/readyz", http.StatusOK)
	require.Len(t, h.kept(t, h.lark), 1)
	require.Len(t, h.kept(t, h.wren), 1)
}
