package slack_test

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/slack"
	"proveout/bot"
)

// hears counts what it is handed and keeps the last.
type hears struct {
	got  int
	last bot.Inbound
}

func (h *hears) Receive(_ context.Context, in bot.Inbound) error {
	h.got++
	h.last = in
	return nil
}

// FuzzARequestIsAnsweredOrRefused holds the law that any body at all, signed as Slack
// signs, is answered with a status Slack knows what to do with, that what is handed on
// names this channel, and that nothing is handed on of a body that is not signed.
func FuzzARequestIsAnsweredOrRefused(f *testing.F) {
	const secret, stamp = "shh", "1700000000"
	event := func(inner string) []byte {
		return []byte(`{"type":"event_callback","event":` + inner + `}`)
	}
	form := func(key, value string) []byte { return []byte(url.Values{key: {value}}.Encode()) }
	f.Add(false, event(`{"type":"message","channel":"C1","user":"U1","ts":"1700000000.000100","text":"24 at <@U2> &amp; 27"}`))
	f.Add(false, event(`{"type":"message","subtype":"message_changed","channel":"C1","message":{"user":"U1","ts":"1.1","edited":{"ts":"1.2"}},"previous_message":{}}`))
	f.Add(false, event(`{"type":"message","subtype":"message_changed","channel":"C1"}`))
	f.Add(false, event(`{"type":"message","subtype":"message_deleted","channel":"C1","previous_message":{"user":"U1","ts":"1.1"}}`))
	f.Add(false, event(`{"type":"app_mention","channel":"C1","user":"U1","ts":"1.1"}`))
	f.Add(false, event(`{"type":"app_home_opened","user":"U1","tab":"home"}`))
	f.Add(false, event(`{"type":"message"}`))
	f.Add(false, event(`null`))
	f.Add(false, []byte(`{"type":"url_verification","challenge":"<script>"}`))
	f.Add(true, form("payload", `{"type":"block_actions","user":{"id":"U1"},"container":{"channel_id":"C1","message_ts":"1.1"},"actions":[{"type":"button","action_id":"proveout:0","value":"confirm:J-1001","action_ts":"1.2"}]}`))
	f.Add(true, form("payload", `{"type":"block_actions","actions":[null,{}]}`))
	f.Add(true, form("command", "/proveout"))
	f.Add(true, []byte("payload=%zz&;"))

	at := time.Unix(1700000000, 0)
	request := func(t *testing.T, desk *hears, asForm bool, body []byte, key string) int {
		api := &http.Client{Transport: nowhere{}}
		adapter, err := slack.New(desk, slack.Options{BotToken: "xoxb-1", SigningSecret: secret, API: "http://slack.invalid/api/", Client: api, Board: jobs{}, Now: func() time.Time { return at }})
		require.NoError(t, err)
		mac := hmac.New(sha256.New, []byte(key))
		fmt.Fprintf(mac, "v0:%s:%s", stamp, body)
		r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/slack", bytes.NewReader(body))
		if asForm {
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		}
		r.Header.Set("X-Slack-Request-Timestamp", stamp)
		r.Header.Set("X-Slack-Signature", "v0="+hex.EncodeToString(mac.Sum(nil)))
		w := httptest.NewRecorder()
		adapter.ServeHTTP(w, r)
		require.NotContains(t, w.Header().Get("Content-Type"), "html")
		return w.Code
	}
	f.Fuzz(func(t *testing.T, asForm bool, body []byte) {
		desk := &hears{}
		require.Contains(t, []int{http.StatusOK, http.StatusBadRequest}, request(t, desk, asForm, body, secret))
		if desk.got > 0 {
			require.Equal(t, slack.Channel, desk.last.Channel)
			require.True(t, strings.HasPrefix(desk.last.ID, desk.last.Of) || desk.last.Kind != bot.Edited, "an edit's id begins with that of what it edits")
		}
		desk = &hears{}
		require.Equal(t, http.StatusUnauthorized, request(t, desk, asForm, body, "guessed"))
		require.Zero(t, desk.got)
	})
}

// nowhere is a network that is down: names cannot be asked for.
type nowhere struct{}

func (nowhere) RoundTrip(*http.Request) (*http.Response, error) {
	return nil, http.ErrServerClosed
}
