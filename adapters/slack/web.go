package slack

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"
)

// ServeHTTP takes Slack's requests: events, pressed buttons and commands may all be
// sent to the one address. The status says what Slack should do: 200 stored or none
// of ours, 401 not Slack's, 400 not readable, 503 deliver it again.
func (a *Adapter) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if a.o.SigningSecret == "" || r.Method != http.MethodPost {
		http.NotFound(w, r)
		return
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, largest))
	if err != nil {
		http.Error(w, "the body cannot be read", http.StatusBadRequest)
		return
	}
	if err := verify(r.Header, body, a.o.SigningSecret, a.o.Now()); err != nil {
		a.o.Log.Warn().Err(err).Msg("a request that is not Slack's was refused")
		http.Error(w, "not signed as Slack signs", http.StatusUnauthorized)
		return
	}
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind == "application/x-www-form-urlencoded" {
		r.Body = io.NopCloser(bytes.NewReader(body))
		a.serveForm(w, r)
		return
	}
	a.serveEvent(w, r, body)
}

func (a *Adapter) serveEvent(w http.ResponseWriter, r *http.Request, body []byte) {
	outer := struct{ Type, Challenge string }{}
	if err := json.Unmarshal(body, &outer); err != nil {
		http.Error(w, "not an event", http.StatusBadRequest)
		return
	}
	if outer.Type == slackevents.URLVerification {
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		_, _ = io.WriteString(w, outer.Challenge) // whoever asked is gone if it fails
		return
	}
	event, err := slackevents.ParseEvent(body, slackevents.OptionNoVerifyToken())
	if err != nil { // signed by Slack, so a kind we did not ask for
		a.o.Log.Warn().Err(a.scrub(err)).Msg("an event of a kind unknown here was passed over")
		return
	}
	if err := a.happened(r.Context(), event.InnerEvent.Data); err != nil {
		again(w)
	}
}

func (a *Adapter) serveForm(w http.ResponseWriter, r *http.Request) {
	if err := r.ParseForm(); err != nil {
		http.Error(w, "not a form", http.StatusBadRequest)
		return
	}
	if r.PostForm.Get("payload") != "" {
		press, err := slack.InteractionCallbackParse(r)
		if err != nil {
			http.Error(w, "not an interaction", http.StatusBadRequest)
			return
		}
		if err := a.pressed(r.Context(), press); err != nil {
			again(w)
		}
		return
	}
	command, err := slack.SlashCommandParse(r)
	if err != nil {
		http.Error(w, "not a command", http.StatusBadRequest)
		return
	}
	if answer := a.commanded(r.Context(), command); answer != nil {
		w.Header().Set("Content-Type", "application/json")
		if err := json.NewEncoder(w).Encode(answer); err != nil {
			a.o.Log.Warn().Err(errors.New("the connection is gone")).Msg("a command's failure could not be told")
		}
	}
}

// again has Slack deliver the same once more.
func again(w http.ResponseWriter) {
	http.Error(w, "not stored, deliver it again", http.StatusServiceUnavailable)
}
