package slack_test

import (
	"context"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/slack"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
)

func TestANewConnectionGoesOnWhereTheOldEnded(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	s.say(t, dale, "one")
	require.NoError(t, s.Refresh())
	s.say(t, dale, "two")
	s.Drop()
	s.say(t, dale, "three")
	var texts []string
	for _, in := range desk.Got() {
		texts = append(texts, in.Text)
	}
	require.Equal(t, []string{"one", "two", "three"}, texts)
}

func TestWhatWasBeingStoredWhenTheConnectionBrokeIsTheSameEventAgain(t *testing.T) {
	t.Parallel()
	desk := &slow{until: make(chan struct{})}
	s := open(t, desk, nil, false)
	event, _ := s.Say(slacktest.Said{Conversation: room, User: dale, Text: "28"})
	brief, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	_, err := s.Deliver(brief, event)
	require.Error(t, err)
	s.Drop()
	close(desk.until)
	s.deliver(t, event)
	got := desk.Got()
	require.Len(t, got, 2)
	require.Equal(t, got[0], got[1])
}

func TestRunEndsWithItsContextAndLeavesNothingBehind(t *testing.T) { //nolint:paralleltest // it counts goroutines
	desk := &conformance.Desk{}
	server, err := slacktest.New(t.Context())
	require.NoError(t, err)
	defer server.Close()
	adapter, err := slack.New(desk, slack.Options{BotToken: server.BotToken, AppToken: server.AppToken, API: server.API(), Board: jobs{}})
	require.NoError(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- adapter.Run(ctx) }()
	event, _ := server.Say(slacktest.Said{Conversation: room, User: dale, Text: "28"})
	_, err = server.Deliver(t.Context(), event)
	require.NoError(t, err)
	cancel()
	require.NoError(t, <-ended)
	require.Eventually(t, func() bool { return goroutines() == "" }, 5*time.Second, 10*time.Millisecond, "%s", goroutines())
}

func TestRefusedTokensEndRunWithTheMend(t *testing.T) {
	t.Parallel()
	server, err := slacktest.New(t.Context())
	require.NoError(t, err)
	t.Cleanup(server.Close)
	for which, o := range map[string]slack.Options{
		"bot token": {BotToken: "xoxb-old", AppToken: server.AppToken, API: server.API(), Board: jobs{}},
		"app token": {BotToken: server.BotToken, AppToken: "xapp-old", API: server.API(), Board: jobs{}},
	} {
		adapter, err := slack.New(&conformance.Desk{}, o)
		require.NoError(t, err)
		err = adapter.Run(t.Context())
		require.ErrorContains(t, err, which)
		require.ErrorContains(t, err, "invalid_auth")
		require.NotContains(t, err.Error(), "-old")
	}
}

func TestOptionsNameWhatIsMissingAndShowNone(t *testing.T) {
	t.Parallel()
	for want, o := range map[string]slack.Options{
		"bot token": {BotToken: "xapp-mixed-up", AppToken: "xapp-1"},
		"app token": {BotToken: "xoxb-1", AppToken: "xoxb-mixed-up"},
		"neither":   {BotToken: "xoxb-1"},
		"board":     {BotToken: "xoxb-1", AppToken: "xapp-1"},
	} {
		_, err := slack.New(&conformance.Desk{}, o)
		require.ErrorContains(t, err, want)
		require.NotContains(t, err.Error(), "mixed-up")
	}
}

// The example of Slack's documentation, "Verifying requests from Slack": secret,
// timestamp, body and signature as published there; the secret and the token are
// invented by Slack.
func TestThePublishedExampleOfASignedRequestIsTaken(t *testing.T) {
	t.Parallel()
	const (
		secret    = "8f742231b10e8888abcd99yyyzzz85a5"
		timestamp = "1531420618"
		signature = "v0=a2114d57b48eac39b9ad189dd8316235a7b4a8d21a10bd27519666489c69b503"
		body      = "token=xyzz0WbapA4vBCDEFasx0q6G&team_id=T1DC2JH3J&team_domain=testteamnow&channel_id=G8PSS9T3V&channel_name=foobar" +
			"&user_id=U2CERLKJA&user_name=roadrunner&command=%2Fwebhook-collect&text=" +
			"&response_url=https%3A%2F%2Fhooks.slack.com%2Fcommands%2FT1DC2JH3J%2F397700885554%2F96rGlfmibIGlgcZRskXaIFfN" +
			"&trigger_id=398738663015.47445629121.803a0bc887a14d10d2c447fce8b6703c"
	)
	at := time.Unix(1531420618, 0)
	for name, c := range map[string]struct {
		now                        time.Time
		timestamp, body, signature string
		want                       int
	}{
		"as published":              {at, timestamp, body, signature, http.StatusOK},
		"five minutes late":         {at.Add(5 * time.Minute), timestamp, body, signature, http.StatusOK},
		"later":                     {at.Add(5*time.Minute + time.Second), timestamp, body, signature, http.StatusUnauthorized},
		"from the future":           {at.Add(-6 * time.Minute), timestamp, body, signature, http.StatusUnauthorized},
		"another body":              {at, timestamp, body + "x", signature, http.StatusUnauthorized},
		"another time":              {at, "1531420619", body, signature, http.StatusUnauthorized},
		"no time":                   {at, "", body, signature, http.StatusUnauthorized},
		"no signature":              {at, timestamp, body, "", http.StatusUnauthorized},
		"a signature of no version": {at, timestamp, body, strings.TrimPrefix(signature, "v0="), http.StatusUnauthorized},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			desk := &conformance.Desk{}
			adapter, err := slack.New(desk, slack.Options{BotToken: "xoxb-1", SigningSecret: secret, Board: jobs{}, Now: func() time.Time { return c.now }})
			require.NoError(t, err)
			r, err := http.NewRequestWithContext(t.Context(), http.MethodPost, serve(t, adapter), strings.NewReader(c.body))
			require.NoError(t, err)
			r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
			r.Header.Set("X-Slack-Request-Timestamp", c.timestamp)
			r.Header.Set("X-Slack-Signature", c.signature)
			resp, err := http.DefaultClient.Do(r)
			require.NoError(t, err)
			require.NoError(t, resp.Body.Close())
			require.Equal(t, c.want, resp.StatusCode)
			if c.want != http.StatusOK {
				require.Empty(t, desk.Got())
				return
			}
			require.Equal(t, "U2CERLKJA", desk.Got()[0].From)
		})
	}
}

// jobs lists the jobs of one person.
type jobs map[string][]bot.Summary

// PhrasesFor has the words of everybody's language.
func (jobs) PhrasesFor(string, string) bot.Phrases {
	return bot.Phrases{
		"board-none": "No open jobs.", "home-open": "{n} open jobs", "home-open-one": "1 open job", "home-more": "and {n} more",
		"button-sure": "Sure?", "button-yes": "Yes", "button-no": "No", "command-lost": "{command} was not taken down; give it once more.",
	}
}

func (b jobs) OpenJobs(channel, identity string) []bot.Summary {
	if channel != slack.Channel {
		return nil
	}
	return b[identity]
}

func TestTheHomeListsTheOpenJobsAPersonMaySee(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	place := bot.Place{Channel: "slack", Conversation: room, Thread: room + "/1700000000.000100"}
	s := open(t, desk, jobs{rosa: {
		{Job: "J-1", Technician: "Dale <!here>", Status: "proposed", Place: place, Text: "weak run capacitor, waits 12 min", Buttons: []bot.Button{{Action: "confirm J-1", Label: "Confirm"}}},
		{Job: "J-2", Technician: "Sam", Status: "measuring", Place: bot.Place{Channel: "sms", Conversation: "+15550100"}, Text: "last 3 min ago"},
	}}, false)
	s.deliver(t, s.OpenHome(rosa))
	shown, buttons, err := s.WaitHome(t.Context(), rosa)
	require.NoError(t, err)
	require.Equal(t, "2 open jobs\nDale <!here> · proposed\nweak run capacitor, waits 12 min\nSam · measuring\nlast 3 min ago", shown)
	require.Equal(t, []string{"Confirm"}, buttons)

	s.deliver(t, s.Press(rosa, slacktest.Post{}, "Confirm"))
	in := desk.Got()[0]
	require.Equal(t, [4]string{room, place.Thread, "confirm J-1", ""}, [4]string{in.Conversation, in.Thread, in.Action, in.Of})

	s.deliver(t, s.OpenHome(dale))
	shown, _, err = s.WaitHome(t.Context(), dale)
	require.NoError(t, err)
	require.Equal(t, "No open jobs.", shown)
}

func TestAFullHomeSaysHowManyMoreThereAre(t *testing.T) {
	t.Parallel()
	many := make([]bot.Summary, 200)
	for i := range many {
		many[i] = bot.Summary{Technician: "Dale", Status: "measuring", Text: "waits", Buttons: []bot.Button{{Action: "a", Label: "Snooze"}}}
	}
	s := open(t, &conformance.Desk{}, jobs{rosa: many}, false)
	s.deliver(t, s.OpenHome(rosa))
	shown, buttons, err := s.WaitHome(t.Context(), rosa)
	require.NoError(t, err)
	require.Contains(t, shown, "and 151 more")
	require.Len(t, buttons, 49)
}
