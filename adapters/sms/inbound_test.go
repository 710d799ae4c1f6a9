package sms_test

import (
	"bytes"
	"context"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/sms"
	"proveout/adapters/sms/smstest"
	"proveout/bot"
)

func TestATextComesInFromItsNumberAtItsTimeOfSending(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	sent := time.Now().Add(-3 * time.Hour).UTC().Truncate(time.Second)
	d := l.Say("(303) 555-0123", "303-555-0100", "18 psi")
	d.SentAt = sent
	require.NoError(t, l.Deliver(t.Context(), d))
	require.Equal(t, bot.Inbound{Channel: bot.Texts, ID: d.ID, Conversation: ana, From: ana, Kind: bot.Said, Text: "18 psi", At: sent}, desk.Got()[0])
}

func TestATimeThatCannotBeIsNow(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	for i, off := range []time.Duration{2 * time.Hour, -9 * 24 * time.Hour, -60 * 365 * 24 * time.Hour} {
		d := l.Say(ana, shop, "28")
		d.SentAt = d.SentAt.Add(off)
		require.NoError(t, l.Deliver(t.Context(), d))
		require.WithinDuration(t, time.Now(), desk.Got()[i].At, time.Minute, off)
	}
}

func TestWithoutAnIDTheSameTextOfTheSameMomentIsARepeat(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	d := l.Say(ana, shop, "28")
	d.ID = ""
	other := *d
	other.SentAt = d.SentAt.Add(time.Second)
	for _, one := range []*smstest.Delivery{d, d, &other} {
		require.NoError(t, l.Deliver(t.Context(), one))
	}
	got := desk.Got()
	require.Equal(t, got[0].ID, got[1].ID)
	require.NotEqual(t, got[0].ID, got[2].ID, "another 28 a second later is another reading")
	require.NotContains(t, got[0].ID, "303555")
}

func TestTheWordsOfCarriersAreConsentWhenTheyStandAlone(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	for text, action := range map[string]string{
		"STOP": bot.Stop, " stop. ": bot.Stop, "Stop All": bot.Stop, "unsubscribe": bot.Stop, "¡ALTO!": bot.Stop, "Cancelar": bot.Stop,
		"start": bot.Start, "UNSTOP": bot.Start, "Iniciar": bot.Start, "HELP": bot.Help, "ayuda": bot.Help, "info": bot.Help,
		"stop the blower": "", "baja": "", "alta": "", "it stops": "", "yes": "", "no help needed": "",
	} {
		l.says(t, text)
		got := desk.Got()
		last := got[len(got)-1]
		require.Equal(t, action, last.Action, text)
		require.Equal(t, text, last.Text)
		require.Equal(t, action != "", last.Kind == bot.Consent, text)
	}
}

func TestAReceiptSaysWhatBecameOfATextSent(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	id, err := l.adapter.Send(t.Context(), outbound("out", "read it once more"))
	require.NoError(t, err)
	require.NoError(t, l.Report(t.Context(), id, "queued", ""))
	require.Empty(t, desk.Got(), "still under way")
	require.NoError(t, l.Report(t.Context(), id, "failed", "phone switched off"))
	require.NoError(t, l.Report(t.Context(), id, "delivered", ""))
	require.NoError(t, l.Report(t.Context(), id, "delivered", ""))
	got := desk.Got()
	require.Equal(t, bot.Receipt, got[0].Kind)
	require.Equal(t, []string{id, bot.Failed, "phone switched off"}, []string{got[0].Of, got[0].Action, got[0].Text})
	require.Equal(t, []string{id, bot.Arrived, ""}, []string{got[1].Of, got[1].Action, got[1].Text})
	require.Equal(t, got[1].ID, got[2].ID, "the same receipt again")
	require.NotEqual(t, id, got[0].ID)
	require.Error(t, l.Report(t.Context(), id, "on the moon", ""))
	require.InDelta(t, 1, l.counted(t, "proveout_sms_requests_total", "receipt", "unusable"), 0)
}

// signed makes a request as the gateway does.
func signed(path, body, secret string, at time.Time) *http.Request {
	r := httptest.NewRequestWithContext(context.Background(), http.MethodPost, path, strings.NewReader(body))
	stamp := strconv.FormatInt(at.Unix(), 10)
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Timestamp", stamp)
	r.Header.Set("X-Signature", "sha256="+smstest.Sign(secret, stamp, []byte(body)))
	return r
}

func TestWhatIsNotTheGatewaysIsRefusedAndCounted(t *testing.T) {
	t.Parallel()
	const sound = `{"id": "1", "from": "+13035550123", "text": "OL on the coil", "sent_at": "2026-11-25T15:00:00Z"}`
	change := func(how func(r *http.Request)) func(l *line) *http.Request {
		return func(l *line) *http.Request {
			r := signed("/sms", sound, l.Secret, l.now())
			how(r)
			return r
		}
	}
	body := func(text string) func(l *line) *http.Request {
		return func(l *line) *http.Request { return signed("/sms", text, l.Secret, l.now()) }
	}
	for name, c := range map[string]struct {
		request func(l *line) *http.Request
		status  int
		hook    string
		result  string
	}{
		"a path nobody knows":      {func(l *line) *http.Request { return signed("/other", sound, l.Secret, l.now()) }, http.StatusNotFound, "none", "unknown-path"},
		"another method":           {change(func(r *http.Request) { r.Method = http.MethodPut }), http.StatusMethodNotAllowed, "receive", "method"},
		"no content type":          {change(func(r *http.Request) { r.Header.Del("Content-Type") }), http.StatusUnsupportedMediaType, "receive", "content-type"},
		"a form for JSON":          {change(func(r *http.Request) { r.Header.Set("Content-Type", "application/x-www-form-urlencoded") }), http.StatusUnsupportedMediaType, "receive", "content-type"},
		"another charset":          {change(func(r *http.Request) { r.Header.Set("Content-Type", "application/json; charset=latin1") }), http.StatusUnsupportedMediaType, "receive", "content-type"},
		"no signature":             {change(func(r *http.Request) { r.Header.Del("X-Signature") }), http.StatusUnauthorized, "receive", "unsigned"},
		"a signature cut short":    {change(func(r *http.Request) { r.Header.Set("X-Signature", "sha256=ab") }), http.StatusUnauthorized, "receive", "unsigned"},
		"a signature of another":   {func(l *line) *http.Request { return signed("/sms", sound, "guess", l.now()) }, http.StatusUnauthorized, "receive", "unsigned"},
		"another moment":           {change(func(r *http.Request) { r.Header.Set("X-Timestamp", "1") }), http.StatusUnauthorized, "receive", "unsigned"},
		"an old request":           {func(l *line) *http.Request { return signed("/sms", sound, l.Secret, l.now().Add(-6*time.Minute)) }, http.StatusUnauthorized, "receive", "stale"},
		"a request of tomorrow":    {func(l *line) *http.Request { return signed("/sms", sound, l.Secret, l.now().Add(6*time.Minute)) }, http.StatusUnauthorized, "receive", "stale"},
		"another address":          {change(func(r *http.Request) { r.RemoteAddr = "198.51.100.7:1" }), http.StatusForbidden, "receive", "address"},
		"no JSON":                  {body(`{"id": `), http.StatusBadRequest, "receive", "unreadable"},
		"two values":               {body(sound + sound), http.StatusBadRequest, "receive", "unreadable"},
		"nothing":                  {body(``), http.StatusBadRequest, "receive", "unreadable"},
		"no sender":                {body(`{"id": "1", "text": "x"}`), http.StatusUnprocessableEntity, "receive", "unusable"},
		"a name for a sender":      {body(`{"id": "1", "from": "LARKMOOR", "text": "x"}`), http.StatusUnprocessableEntity, "receive", "unusable"},
		"neither id nor time":      {body(`{"from": "+13035550123", "text": "x"}`), http.StatusUnprocessableEntity, "receive", "unusable"},
		"a part of none":           {body(`{"id": "1", "from": "+13035550123", "text": "x", "concat": {"reference": "a", "part": 3, "total": 2}}`), http.StatusUnprocessableEntity, "receive", "unusable"},
		"a body that is too large": {body(`{"text": "` + strings.Repeat("x", 70_000) + `"}`), http.StatusRequestEntityTooLarge, "receive", "too-large"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			desk := &conformance.Desk{}
			l := open(t, desk)
			var log bytes.Buffer
			o := l.options
			o.Log = zerolog.New(&log)
			o.Parts = t.TempDir()
			o.Gateway.Receive.Allow = []string{netip.MustParsePrefix("192.0.2.0/24").String()} // where httptest comes from
			adapter, err := sms.New(desk, o)
			require.NoError(t, err)
			answer := httptest.NewRecorder()
			adapter.ServeHTTP(answer, c.request(l))
			require.Equal(t, c.status, answer.Code, answer.Body)
			require.Empty(t, desk.Got())
			require.InDelta(t, 1, l.counted(t, "proveout_sms_requests_total", c.hook, c.result), 0)
			require.Contains(t, log.String(), c.result)
			require.NotContains(t, log.String(), "5550123")
			require.NotContains(t, log.String(), "OL on the coil")
		})
	}
}

func TestARequestPlayedAgainIsRefusedOnceItWasTaken(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	const body = `{"id": "1", "from": "+13035550123", "text": "28"}`
	now := l.now()
	for i, status := range []int{http.StatusServiceUnavailable, http.StatusOK, http.StatusConflict} {
		if i == 0 {
			desk.Refuse(1) // what was not stored is delivered again, and is no replay
		}
		answer := httptest.NewRecorder()
		l.adapter.ServeHTTP(answer, signed("/sms", body, l.Secret, now))
		require.Equal(t, status, answer.Code)
	}
	require.Len(t, desk.Got(), 1)
	l.ahead.Store(int64(11 * time.Minute))
	answer := httptest.NewRecorder()
	l.adapter.ServeHTTP(answer, signed("/sms", body, l.Secret, now))
	require.Equal(t, http.StatusUnauthorized, answer.Code, "when it is forgotten it is stale")
}

// busy refuses everything.
type busy struct{}

func (busy) Receive(context.Context, bot.Inbound) error {
	return &bot.Error{Code: bot.CodeLimited, Text: "too many messages of one sender"}
}

func TestWhoSendsTooMuchIsAskedToSendItLater(t *testing.T) {
	t.Parallel()
	l := open(t, busy{})
	answer := httptest.NewRecorder()
	l.adapter.ServeHTTP(answer, signed("/sms", `{"id": "1", "from": "+13035550123", "text": "28"}`, l.Secret, l.now()))
	require.Equal(t, http.StatusTooManyRequests, answer.Code)
	require.Equal(t, "60", answer.Header().Get("Retry-After"))
	require.InDelta(t, 1, l.counted(t, "proveout_sms_requests_total", "receive", "limited"), 0)
}

// kannelLike asks as Kannel does.
func kannelLike(query, user, password string) *http.Request {
	r := httptest.NewRequestWithContext(context.Background(), http.MethodGet, "/sms?"+query, http.NoBody)
	r.RemoteAddr = "127.0.0.1:4000"
	r.SetBasicAuth(user, password)
	return r
}

func TestAPasswordIsAskedForWhereThereIsNoSignature(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	adapter, err := sms.New(desk, sms.Options{Gateway: described(t, "kannel.yaml"), Number: shop, Secrets: map[string]string{"password": "loopback"}})
	require.NoError(t, err)
	const query = "from=%2B13035550123&to=%2B13035550100&text=24+V+%26+28+%C2%B5F&id=u-1&time=1795617040"
	for password, status := range map[string]int{"": http.StatusUnauthorized, "guess": http.StatusUnauthorized, "loopback": http.StatusOK} {
		answer := httptest.NewRecorder()
		adapter.ServeHTTP(answer, kannelLike(query, "kannel", password))
		require.Equal(t, status, answer.Code)
		require.Equal(t, status == http.StatusUnauthorized, answer.Header().Get("WWW-Authenticate") != "")
	}
	require.Equal(t, "24 V & 28 µF", desk.Got()[0].Text)
	answer := httptest.NewRecorder()
	adapter.ServeHTTP(answer, kannelLike("from=%zz", "kannel", "loopback"))
	require.Equal(t, http.StatusBadRequest, answer.Code)
}

func TestARequestMayHoldSeveralTexts(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	g := described(t, "generic.yaml")
	g.Receive.Each, g.Receive.International, g.Receive.TimeFormat = "data.results", true, "2006-01-02 15:04"
	g.Receive.Fields = map[string]string{"sender": "from.number", "text": "content.0", "id": "id", "time": "when"}
	secrets := map[string]string{"webhook": "w", "token": "t"}
	adapter, err := sms.New(desk, sms.Options{Gateway: g, Number: shop, Secrets: secrets, Now: func() time.Time { return time.Unix(1795617040, 0) }})
	require.NoError(t, err)
	post := func(body string) int {
		answer := httptest.NewRecorder()
		adapter.ServeHTTP(answer, signed("/sms", body, "w", time.Unix(1795617040, 0)))
		return answer.Code
	}
	const two = `{"data": {"results": [
		{"id": 71, "from": {"number": "13035550123"}, "content": ["24 at the yellow"], "when": "2026-11-25 14:20"},
		{"id": 72, "from": {"number": "none"}, "content": ["of nobody"]},
		{"id": 73, "from": {"number": 13035550123}, "content": ["0 past the switch"], "when": "today"}]}}`
	require.Equal(t, http.StatusOK, post(two), "one that is of nobody keeps back none of the others")
	got := desk.Got()
	require.Equal(t, "24 at the yellow|0 past the switch", texts(got))
	require.Equal(t, []string{"71", ana, "73"}, []string{got[0].ID, got[0].From, got[1].ID})
	require.Equal(t, time.Date(2026, 11, 25, 14, 20, 0, 0, time.UTC), got[0].At)
	require.Equal(t, http.StatusUnprocessableEntity, post(`{"data": {"results": []}}`))
	require.Equal(t, http.StatusBadRequest, post(`{"data": {"results": "none"}}`))
}

// sink takes everything and keeps nothing.
type sink struct{}

func (sink) Receive(context.Context, bot.Inbound) error { return nil }

// FuzzAnythingAtTheDoorGetsAStatus sends signed bodies and unsigned queries of any kind
// to both hooks.
func FuzzAnythingAtTheDoorGetsAStatus(f *testing.F) {
	for _, body := range []string{
		`{"id": "1", "from": "+13035550123", "text": "28", "sent_at": "2026-11-25T15:00:00Z"}`, `[]`, `{"concat": 7}`, "\xff", `{"from": 1e999}`,
		`{"id": "1", "from": "+13035550123", "text": "a", "concat": {"reference": "r", "part": 1, "total": 255}}`, `{"id": "x", "status": "delivered"}`,
	} {
		f.Add("/sms", body)
		f.Add("/sms/receipt", body)
	}
	g := described(f, "generic.yaml")
	adapter, err := sms.New(sink{}, sms.Options{
		Gateway: g, Number: shop, Region: "US", Secrets: map[string]string{"webhook": "w", "token": "t"}, Parts: f.TempDir(),
	})
	require.NoError(f, err)
	plain, err := sms.New(sink{}, sms.Options{Gateway: described(f, "kannel.yaml"), Number: shop, Secrets: map[string]string{"password": "p"}})
	require.NoError(f, err)
	f.Fuzz(func(t *testing.T, path, body string) {
		if path != "/sms" {
			path = "/sms/receipt"
		}
		answer := httptest.NewRecorder()
		adapter.ServeHTTP(answer, signed(path, body, "w", time.Now()))
		require.NotEqual(t, http.StatusServiceUnavailable, answer.Code)
		r := kannelLike("", "kannel", "p")
		r.URL.RawQuery, r.URL.Path = body, path
		answer = httptest.NewRecorder()
		plain.ServeHTTP(answer, r)
		require.NotEqual(t, http.StatusServiceUnavailable, answer.Code)
	})
}
