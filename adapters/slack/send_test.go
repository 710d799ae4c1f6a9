package slack_test

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/adapters/conformance"
	"proveout/adapters/slack"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
)

func TestAReplyIsLaidOutByItsParts(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	root := s.say(t, dale, "low side 60, high 190")
	post := s.send(t, bot.Outbound{
		ID: "1", Thread: room + "/" + root, Text: "the same in one text",
		Reply: &bot.Reply{Lines: []bot.Line{
			{Part: bot.Safety, Text: "Stop. Leave the house."},
			{Part: bot.Heard, Text: "Read as: 60 psig."},
			{Part: bot.Table, Text: "reading   measured"},
			{Part: bot.Table, Text: "suction   60 psig"},
			{Part: bot.Next, Text: "Next: read 5 < 6 & 7."},
			{Part: bot.Caution, Text: "Power is on."},
			{Part: bot.Means, Text: "About 27 V: low charge."},
		}},
	})
	require.Equal(t, root, post.Thread)
	require.Equal(t, []string{"⚠ Stop. Leave the house.", "⚠ Power is on."}, post.Quoted)
	require.Equal(t, []string{"reading   measured\nsuction   60 psig"}, post.Tables)
	require.Equal(t, "⚠ Stop. Leave the house.\nRead as: 60 psig.\nreading   measured\nsuction   60 psig\nNext: read 5 < 6 & 7.\n⚠ Power is on.\nAbout 27 V: low charge.", post.Shown)
	require.Equal(t, post.Shown, post.Fallback, "the fallback says the same")
}

func TestAReplyWhosePartsAreNotKnownIsItsText(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	post := s.send(t, bot.Outbound{ID: "1", Text: "Next: read it.", Reply: &bot.Reply{}})
	require.Equal(t, "Next: read it.", post.Shown)
}

// Any text, whoever wrote it, stands for itself.
func TestTextNeverFormsAMentionOrALink(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		text := strings.Join(rapid.SliceOfN(rapid.OneOf(
			rapid.SampledFrom([]string{"<!channel>", "<@U0DALE>", "<http://x.example|y>", "http://x.example", "@here", "&lt;", "&", "<", ">", "`", "*"}),
			rapid.StringMatching(`[a-z0-9µ°]{1,8}`),
		), 1, 12).Draw(r, "words"), " ")
		part := rapid.SampledFrom([]bot.Part{"", bot.Safety, bot.Table, bot.Next}).Draw(r, "part")
		n++
		post := s.send(t, bot.Outbound{ID: text + string(part), Text: text, Reply: &bot.Reply{Lines: []bot.Line{{Part: part, Text: text}}}})
		require.Empty(r, post.Formed)
		require.Equal(r, text, strings.TrimPrefix(post.Shown, "⚠ "))
		require.Equal(r, text, strings.TrimPrefix(post.Fallback, "⚠ "))
	})
}

func TestAPressedButtonComesInUnderItsMessage(t *testing.T) {
	t.Parallel()
	for name, web := range map[string]byHTTP{"by the socket": false, "by HTTP": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			desk := &conformance.Desk{}
			s := open(t, desk, nil, web)
			root := s.say(t, dale, "no cooling")
			id, err := s.adapter.Send(t.Context(), bot.Outbound{
				ID: "1", Conversation: room, Thread: room + "/" + root, Text: "Call: weak run capacitor.",
				Buttons: []bot.Button{{Action: "confirm J-1", Label: "Confirm"}, {Action: "overrule J-1", Label: "Overrule", Danger: true}},
			})
			require.NoError(t, err)
			post := s.Posts(room)[0]
			require.Equal(t, []string{"Confirm", "Overrule"}, post.Buttons)
			press := s.Press(rosa, post, "Overrule")
			s.deliver(t, press)
			s.deliver(t, press)
			s.deliver(t, s.Press(dale, post, "Overrule"))

			got := desk.Got()[1:]
			require.Len(t, got, 3)
			in := got[0]
			require.Equal(t, bot.Inbound{
				Channel: "slack", ID: in.ID, Conversation: room, Thread: room + "/" + root, From: rosa, Kind: bot.Pressed,
				Of: id, Text: "Overrule", Action: "overrule J-1", At: in.At,
			}, in)
			require.False(t, in.At.IsZero())
			require.Equal(t, in, got[1], "a repeat is the same event")
			require.NotEqual(t, in.ID, got[2].ID, "another person's press is another event")
		})
	}
}

func TestManyAndLongButtonsFit(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	var many []bot.Button
	for range 40 {
		many = append(many, bot.Button{Action: "a", Label: strings.Repeat("µ", 200)})
	}
	post := s.send(t, bot.Outbound{ID: "1", Text: "Which?", Buttons: many})
	require.Len(t, post.Buttons, 25)
	require.Equal(t, 75, utf8.RuneCountInString(post.Buttons[0]))

	_, err := s.adapter.Send(t.Context(), bot.Outbound{ID: "2", Conversation: room, Text: "?", Buttons: []bot.Button{{Label: "no action"}}})
	requireFailed(t, err, "rejected", false)
}

func TestTheButtonsOfALongMessageStandUnderItsEnd(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	var lines []bot.Line
	for range 200 {
		lines = append(lines, bot.Line{Part: bot.Table, Text: strings.Repeat("x", 60)}, bot.Line{Part: bot.Next, Text: "Next."})
	}
	last := s.send(t, bot.Outbound{ID: "1", Text: "?", Reply: &bot.Reply{Lines: lines}, Buttons: []bot.Button{{Action: "a", Label: "Yes"}}})
	posts := s.Posts(room)
	require.Greater(t, len(posts), 2)
	for _, p := range posts[:len(posts)-1] {
		require.Empty(t, p.Buttons)
	}
	require.Equal(t, []string{"Yes"}, last.Buttons)
}

func TestAMessageToAPersonGoesToHimDirectly(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	text := strings.Repeat("word ", 2000)
	s.Refuse(1, slacktest.Refusal{Lose: true})
	m := bot.Outbound{ID: "1", To: dale, Text: text}
	_, err := s.adapter.Send(t.Context(), m)
	requireFailed(t, err, "network", true)
	id, err := s.adapter.Send(t.Context(), m)
	require.NoError(t, err)
	posts := s.Posts("D" + dale)
	var shown []string
	for _, p := range posts {
		shown = append(shown, p.Shown)
	}
	require.Equal(t, strings.TrimSpace(text), strings.TrimSpace(strings.Join(shown, " ")), "each part once, the one whose answer was lost too")
	require.Equal(t, "D"+dale+"/"+posts[len(posts)-1].TS, id)
}

// requireFailed wants a delivery error of that kind.
func requireFailed(t *testing.T, err error, reason string, retry bool) {
	t.Helper()
	d, ok := errors.AsType[*bot.DeliveryError](err)
	require.True(t, ok, "%v", err)
	require.Equal(t, reason, d.Reason, "%v", err)
	require.Equal(t, retry, d.Retry)
}

func TestARefusedMessageSaysWhatCanBeDone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		how    slacktest.Refusal
		reason string
		retry  bool
	}{
		{slacktest.Refusal{Status: http.StatusTooManyRequests, RetryAfter: 30 * time.Second}, "rate-limited", true},
		{slacktest.Refusal{Status: http.StatusTooManyRequests}, "rate-limited", true},
		{slacktest.Refusal{Status: http.StatusBadGateway}, "server", true},
		{slacktest.Refusal{Status: http.StatusForbidden}, "rejected", false},
		{slacktest.Refusal{Code: "ratelimited"}, "server", true},
		{slacktest.Refusal{Code: "internal_error"}, "server", true},
		{slacktest.Refusal{Code: "token_revoked"}, "auth", true},
		{slacktest.Refusal{Code: "channel_not_found"}, "unreachable", false},
		{slacktest.Refusal{Code: "is_archived"}, "unreachable", false},
		{slacktest.Refusal{Code: "msg_too_long"}, "too-long", false},
		{slacktest.Refusal{Code: "an_error_not_yet_invented"}, "rejected", false},
		{slacktest.Refusal{Cut: true}, "network", true},
	} {
		s := open(t, &conformance.Desk{}, nil, false)
		s.Refuse(0, c.how)
		_, err := s.adapter.Send(t.Context(), bot.Outbound{ID: "1", Conversation: room, Text: "hello"})
		requireFailed(t, err, c.reason, c.retry)
		if d, ok := errors.AsType[*bot.DeliveryError](err); ok && c.how.RetryAfter > 0 {
			require.Equal(t, c.how.RetryAfter, d.After)
		}
	}
}

func TestAMessageToNowhereIsNotTriedAgain(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	_, err := s.adapter.Send(t.Context(), bot.Outbound{ID: "1", Text: "hello"})
	requireFailed(t, err, "unreachable", false)
	_, err = s.adapter.Send(t.Context(), bot.Outbound{ID: "2", Conversation: slacktest.Gone, Text: "hello"})
	requireFailed(t, err, "unreachable", false)
}

func TestBlocksRefusedGoOutAsText(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	s.Refuse(0, slacktest.Refusal{Code: "invalid_blocks"})
	post := s.send(t, bot.Outbound{ID: "1", Text: "Next: 5 < 6.", Buttons: []bot.Button{{Action: "a", Label: "Yes"}}})
	require.Equal(t, "Next: 5 < 6.", post.Shown)
	require.Empty(t, post.Buttons)
}

func TestASendEndsWhileThePlatformIsSilent(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	s.Refuse(0, slacktest.Refusal{Hang: true})
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	_, err := s.adapter.Send(ctx, bot.Outbound{ID: "1", Conversation: room, Text: "hello"})
	requireFailed(t, err, "stopped", true)
	require.ErrorIs(t, err, context.DeadlineExceeded)
}

// The service was killed after the message was taken and before that was noted: the
// adapter that sends it again knows nothing of it.
func TestWhatAnEarlierStartHasSentIsShownOnce(t *testing.T) {
	t.Parallel()
	s := open(t, &conformance.Desk{}, nil, false)
	root := s.say(t, dale, "low side 60")
	long := strings.Repeat("word ", 1200) // two messages
	for _, m := range []bot.Outbound{
		{ID: "1", Conversation: room, At: time.Now(), Text: long},
		{ID: "2", Conversation: room, Thread: room + "/" + root, At: time.Now(), Text: long},
	} {
		first, err := s.adapter.Send(t.Context(), m)
		require.NoError(t, err)
		shown := len(s.Posts(room))
		fresh, err := slack.New(&conformance.Desk{}, slack.Options{BotToken: s.BotToken, AppToken: s.AppToken, API: s.API(), Board: jobs{}})
		require.NoError(t, err)
		m.Again = true
		again, err := fresh.Send(t.Context(), m)
		require.NoError(t, err)
		require.Equal(t, first, again)
		require.Len(t, s.Posts(room), shown)
	}
}
