package sms_test

import (
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/sms"
	"proveout/adapters/sms/smstest"
	"proveout/bot"
)

func TestATextGoesToThePersonFromTheShopsNumber(t *testing.T) {
	t.Parallel()
	l := open(t, &conformance.Desk{})
	id, err := l.adapter.Send(t.Context(), bot.Outbound{ID: "out", To: "303 555 0123", Text: "Sam: don’t touch it – yet"})
	require.NoError(t, err)
	p := l.Posts()[0]
	require.Equal(t, smstest.Post{ID: id, Reference: p.Reference, To: ana, From: shop, Text: "Sam: don't touch it - yet"}, p)
	require.Len(t, p.Reference, 32)
	require.InDelta(t, 1, l.counted(t, "proveout_sms_parts_sent_total", "default"), 0)
	_, err = l.adapter.Send(t.Context(), bot.Outbound{ID: "out-2", Conversation: "the shop", Text: "x"})
	var d *bot.DeliveryError
	require.ErrorAs(t, err, &d)
	require.False(t, d.Retry)
}

func TestWhatTheAnswerSaysDecidesWhetherToTryAgain(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		how    smstest.Refusal
		retry  bool
		after  time.Duration
		reason string
	}{
		"an error that passes":     {smstest.Refusal{Code: "busy"}, true, 0, "server"},
		"an error that stays":      {smstest.Refusal{Code: "no such phone"}, false, 0, "rejected"},
		"a request not understood": {smstest.Refusal{Status: http.StatusBadRequest}, false, 0, "rejected"},
		"a secret refused":         {smstest.Refusal{Status: http.StatusForbidden}, true, 5 * time.Minute, "auth"},
		"a fault":                  {smstest.Refusal{Status: http.StatusBadGateway}, true, 0, "server"},
		"too many":                 {smstest.Refusal{Status: http.StatusTooManyRequests, RetryAfter: 9 * time.Second}, true, 9 * time.Second, "rate-limited"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l := open(t, &conformance.Desk{})
			l.Refuse(0, c.how)
			_, err := l.adapter.Send(t.Context(), outbound("out", "hello"))
			var d *bot.DeliveryError
			require.ErrorAs(t, err, &d)
			require.Equal(t, []any{c.retry, c.after, c.reason}, []any{d.Retry, d.After, d.Reason})
			require.NotContains(t, err.Error(), "5550123")
		})
	}
}

// request is one as a gateway gets it.
type request struct {
	*http.Request
	body string
}

// describing serves a description of a gateway and keeps what it is sent.
func describing(t *testing.T, send string, secrets map[string]string) (adapter *sms.Adapter, got func() []request) {
	t.Helper()
	var mu sync.Mutex
	var all []request
	url := serve(t, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		mu.Lock()
		defer mu.Unlock()
		all = append(all, request{r, string(body)})
		if err == nil {
			_, _ = io.WriteString(w, `{"messages": [{"status": "0", "message-id": 12345678901234567890}]}`)
		}
	}))
	path := filepath.Join(t.TempDir(), "gateway.yaml")
	text := "receive:\n  path: /sms\n  body: form\n  fields: {sender: from, text: text, id: id}\n  auth: {bearer: {token: t}}\nsend:\n" + strings.ReplaceAll(send, "URL", url)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	g, err := sms.ReadGateway(path)
	require.NoError(t, err)
	secrets["t"] = "bearer-of-the-hook"
	adapter, err = sms.New(nil, sms.Options{Gateway: g, Number: shop, Secrets: secrets, Now: func() time.Time { return time.Unix(1795617040, 0) }})
	require.NoError(t, err)
	return adapter, func() []request {
		mu.Lock()
		defer mu.Unlock()
		return all
	}
}

func TestAnyGatewaysRequestCanBeDescribed(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		send    string
		secrets map[string]string
		check   func(t *testing.T, r request)
	}{
		"JSON with lists, signed": {
			`  url: URL/v2/{secret:account}/send
  body: json
  fields: {messages: [{to: ["{to-digits}"], text: "{text}", priority: 1, flash: false}], id: "{id}"}
  unicode: {fields: {type: unicode}}
  auth: {signature: {header: X-Sum, encoding: base64, timestamp: X-Time, secret: key}}
  answer: {id: messages.0.message-id, error: messages.0.status, ok: ["0"]}
`,
			map[string]string{"account": "a/b", "key": "k"},
			func(t *testing.T, r request) {
				t.Helper()
				require.Equal(t, "/v2/a%2Fb/send", r.URL.EscapedPath())
				require.JSONEq(t, `{"messages": [{"to": ["13035550123"], "text": "28 µF <now> & \"then\"", "priority": 1, "flash": false}], "id": "de208af4a43cfd18e9b8d25ddcaf4df7", "type": "unicode"}`, r.body)
				require.Equal(t, "1795617040", r.Header.Get("X-Time"))
				require.NotEmpty(t, r.Header.Get("X-Sum"))
			},
		},
		"a form with a password": {
			"  url: URL/send\n  body: form\n  fields: {To: \"{to}\", From: \"{from}\", Body: \"{text}\"}\n  auth: {basic: {user: shop, password: p}}\n  answer: {id: messages.0.message-id}\n",
			map[string]string{"p": "pass"},
			func(t *testing.T, r request) {
				t.Helper()
				require.Equal(t, "Body=28+%C2%B5F+%3Cnow%3E+%26+%22then%22&From=%2B13035550100&To=%2B13035550123", r.body)
				user, password, _ := r.BasicAuth()
				require.Equal(t, []string{"shop", "pass"}, []string{user, password})
			},
		},
		"a query": {
			"  url: URL/send?v=2\n  method: GET\n  body: query\n  fields: {to: \"{to}\", text: \"{text}\"}\n  answer: {id: messages.0.message-id}\n",
			map[string]string{},
			func(t *testing.T, r request) {
				t.Helper()
				require.Equal(t, `28 µF <now> & "then"`, r.URL.Query().Get("text"))
				require.Equal(t, "2", r.URL.Query().Get("v"))
			},
		},
		"the text alone": {
			"  url: URL/send\n  body: text\n  headers: {X-To: \"{to}\", X-Key: \"{secret:k}\"}\n  unicode: {headers: {X-Coding: \"2\"}}\n  answer: {id: messages.0.message-id}\n",
			map[string]string{"k": "key"},
			func(t *testing.T, r request) {
				t.Helper()
				require.Equal(t, `28 µF <now> & "then"`, r.body)
				require.Equal(t, []string{"+13035550123", "key", "2"}, []string{r.Header.Get("X-To"), r.Header.Get("X-Key"), r.Header.Get("X-Coding")})
			},
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			adapter, got := describing(t, c.send, c.secrets)
			id, err := adapter.Send(t.Context(), outbound("out", `28 µF <now> & "then"`))
			require.NoError(t, err)
			require.Equal(t, "12345678901234567890", id)
			require.Len(t, got(), 1)
			c.check(t, got()[0])
		})
	}
}

func TestAnErrorNamesNeitherTheNumberNorTheTextNorASecret(t *testing.T) {
	t.Parallel()
	adapter, _ := describing(t, "  url: http://127.0.0.1:1/send\n  method: GET\n  body: query\n  fields: {to: \"{to}\", text: \"{text}\", key: \"{secret:k}\"}\n", map[string]string{"k": "s e&cret"})
	_, err := adapter.Send(t.Context(), outbound("out", "gate code 4711"))
	require.Error(t, err)
	for _, word := range []string{"5550123", "4711", "s e&cret", "s+e%26cret"} {
		require.NotContains(t, err.Error(), word)
	}
}
