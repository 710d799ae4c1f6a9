package slack_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
)

func TestAMessageOpensAThreadThatRepliesNameAlike(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	root := s.say(t, dale, "no cooling")
	event, reply := s.Say(slacktest.Said{Conversation: room, User: dale, Thread: root, Text: "27 on the cap"})
	s.deliver(t, event)
	event, _ = s.Say(slacktest.Said{Conversation: "D0DALE", User: dale, Text: "hello"})
	s.deliver(t, event)

	got := desk.Got()
	require.Len(t, got, 3)
	require.Equal(t, room+"/"+root, got[0].ID)
	require.Empty(t, got[0].Thread)
	require.Equal(t, got[0].ID, got[0].Starts)
	require.Equal(t, got[0].ID, got[1].Thread)
	require.Equal(t, room+"/"+reply, got[1].ID)
	require.Empty(t, got[1].Starts)
	require.Empty(t, got[2].Starts, "in a direct talk an answer stands under what it answers")
}

func TestAnEditIsACorrectionAndADeletionTakesBack(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	root := s.say(t, dale, "no cooling")
	event, ts := s.Say(slacktest.Said{Conversation: room, User: dale, Thread: root, Text: "28 uF"})
	s.deliver(t, event)
	s.deliver(t, s.Unfurl(room, ts))
	edit := s.Edit(room, ts, "38 uF & steady")
	s.deliver(t, edit)
	s.deliver(t, edit)
	s.deliver(t, s.Edit(room, ts, "39 uF"))
	s.deliver(t, s.Delete(room, ts))

	got := desk.Got()[1:]
	require.Len(t, got, 5, "a preview the platform adds is no edit")
	said, first, second, third, gone := got[0], got[1], got[2], got[3], got[4]
	require.Equal(t, bot.Edited, first.Kind)
	require.Equal(t, said.ID, first.Of)
	require.Equal(t, said.Thread, first.Thread)
	require.Equal(t, "38 uF & steady", first.Text)
	require.Equal(t, dale, first.From)
	require.Equal(t, first, second, "a repeat is the same event")
	require.NotEqual(t, first.ID, third.ID, "two edits are two")
	require.NotEqual(t, said.ID, first.ID)
	require.Equal(t, bot.Deleted, gone.Kind)
	require.Equal(t, said.ID, gone.Of)
	require.Equal(t, said.Thread, gone.Thread)
	require.Equal(t, dale, gone.From)
}

func TestADeletedHeadOfAThreadIsADeletion(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	was := map[string]any{"type": "message", "user": dale, "ts": "1700000000.000100", "thread_ts": "1700000000.000100", "text": "28"}
	s.deliver(t, s.Happen(map[string]any{
		"type": "message", "subtype": "message_changed", "channel": room, "ts": "1700000009.000100", "event_ts": "1700000009.000100",
		"message":          map[string]any{"subtype": "tombstone", "user": "USLACKBOT", "ts": was["ts"], "text": "This message was deleted."},
		"previous_message": was,
	}))
	got := desk.Got()
	require.Len(t, got, 1)
	require.Equal(t, bot.Deleted, got[0].Kind)
	require.Equal(t, room+"/1700000000.000100", got[0].Of)
	require.Empty(t, got[0].Thread, "the head of a thread is in none")
	require.Equal(t, time.Unix(1700000009, 100000).UTC(), got[0].At)
}

func TestEventsInAnyOrderKeepWhatTheyAreAbout(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	first, one := s.Say(slacktest.Said{Conversation: room, User: dale, Text: "28"})
	second, _ := s.Say(slacktest.Said{Conversation: room, User: dale, Text: "29"})
	edit := s.Edit(room, one, "38")
	for _, e := range []*slacktest.Event{edit, second, first} {
		s.deliver(t, e)
	}
	got := desk.Got()
	require.Equal(t, got[2].ID, got[0].Of)
	require.True(t, got[2].At.Before(got[1].At), "what was said first has the earlier time")
}

func TestBotsAndThePlatformsOwnWordsAreNoMessages(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	for _, inner := range []map[string]any{
		{"type": "message", "user": slacktest.AppUser, "bot_id": "B0PROVEOUT", "channel": room, "ts": "1.000001", "text": "Next: read it."},
		{"type": "message", "subtype": "bot_message", "bot_id": "B0OTHER", "channel": room, "ts": "1.000002", "text": "deploy done"},
		{"type": "message", "subtype": "channel_join", "user": dale, "channel": room, "ts": "1.000003", "text": "has joined"},
		{"type": "message", "subtype": "message_deleted", "channel": room, "ts": "1.000004", "deleted_ts": "1.000001"},
		{"type": "reaction_added", "user": dale, "reaction": "+1"},
		{"type": "of_a_kind_not_yet_invented", "user": dale},
	} {
		s.deliver(t, s.Happen(inner)) // acknowledged, or it would come again and again
	}
	require.Empty(t, desk.Got())
}

func TestAMentionOfTheAppIsTheMessageItStandsIn(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	event, ts := s.Say(slacktest.Said{Conversation: room, User: dale, Markup: "<@" + slacktest.AppUser + "> no cooling"})
	s.deliver(t, event)
	s.deliver(t, s.Happen(map[string]any{"type": "app_mention", "user": dale, "channel": room, "ts": ts, "text": "<@" + slacktest.AppUser + "> no cooling"}))
	got := desk.Got()
	require.Len(t, got, 2)
	require.Equal(t, got[0].ID, got[1].ID)
	require.Equal(t, "no cooling", got[0].Text)
}

func TestMarkupComesInAsWords(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	s.Meet(rosa, "Rosa Marin")
	for markup, want := range map[string]string{
		"<@" + rosa + "> look: 5 &lt; 6":                   "@Rosa Marin look: 5 < 6",
		"<@U0NOBODY> and <@U0X|sam>":                       "@someone and @sam",
		"see <https://larkmoor.example/a?b=1&amp;c=2>":     "see https://larkmoor.example/a?b=1&c=2",
		"<http://larkmoor.example|larkmoor.example> says":  "larkmoor.example says",
		"call <tel:5550100|555-0100>":                      "call 555-0100",
		"<!here> in <#C0SHOP|shop>":                        "@here in #shop",
		"<!subteam^S0SENIORS|@seniors> and <!subteam^S01>": "@seniors and @group",
		"&amp;lt; is not &lt;":                             "&lt; is not <",
		"a &lt;@U0X&gt; typed by hand":                     "a <@U0X> typed by hand",
	} {
		event, _ := s.Say(slacktest.Said{Conversation: room, User: dale, Markup: markup})
		s.deliver(t, event)
		got := desk.Got()
		require.Equal(t, want, got[len(got)-1].Text)
	}
	asked := s.NamesAsked()
	event, _ := s.Say(slacktest.Said{Conversation: room, User: dale, Markup: "<@" + rosa + ">"})
	s.deliver(t, event)
	require.Equal(t, asked, s.NamesAsked(), "a name once known is not asked for again")
}

func TestAPhotographIsKeptAsAFile(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, false)
	event, _ := s.Say(slacktest.Said{Conversation: room, User: dale, Files: []slacktest.File{
		{ID: "F0PLATE", Name: "plate.jpg", Mimetype: "image/jpeg", URL: "https://files.larkmoor.example/plate.jpg", Size: 120345},
	}})
	s.deliver(t, event)
	got := desk.Got()
	require.Len(t, got, 1)
	require.Empty(t, got[0].Text)
	require.Equal(t, []bot.File{{ID: "F0PLATE", Name: "plate.jpg", Kind: "image/jpeg", URL: "https://files.larkmoor.example/plate.jpg", Size: 120345}}, got[0].Files)
}

func TestACommandComesInAsPressed(t *testing.T) {
	t.Parallel()
	for name, web := range map[string]byHTTP{"by the socket": false, "by HTTP": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			desk := &conformance.Desk{}
			s := open(t, desk, nil, web)
			for text, want := range map[string]string{"status": "status", " New  14 Birch Lane ": "New  14 Birch Lane", "": ""} {
				require.Empty(t, s.deliver(t, s.Command(room, dale, "/proveout", text)))
				got := desk.Got()
				in := got[len(got)-1]
				require.Equal(t, bot.Pressed, in.Kind)
				require.Equal(t, [2]string{bot.Command, want}, [2]string{in.Action, in.Text})
				require.Equal(t, [3]string{room, dale, ""}, [3]string{in.Conversation, in.From, in.Of})
				require.False(t, in.At.IsZero())
			}
		})
	}
}

func TestACommandNotStoredIsToldToWhoGaveIt(t *testing.T) {
	t.Parallel()
	for name, web := range map[string]byHTTP{"by the socket": false, "by HTTP": true} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			desk := &conformance.Desk{}
			s := open(t, desk, nil, web)
			desk.Refuse(1)
			answer := s.deliver(t, s.Command(room, dale, "/proveout", "new"))
			require.Contains(t, answer, `"response_type":"ephemeral"`)
			require.Contains(t, answer, "give it once more")
		})
	}
}

// slow is a service that takes its time with one event.
type slow struct {
	conformance.Desk
	until chan struct{}
}

func (d *slow) Receive(ctx context.Context, in bot.Inbound) error {
	select {
	case <-d.until:
		return d.Desk.Receive(ctx, in)
	case <-ctx.Done():
		return ctx.Err()
	}
}

func TestAServiceTooSlowIsAskedAgain(t *testing.T) {
	t.Parallel()
	desk := &slow{until: make(chan struct{})}
	s := open(t, desk, nil, false)
	event, _ := s.Say(slacktest.Said{Conversation: room, User: dale, Text: "28"})
	_, err := s.Deliver(t.Context(), event)
	require.ErrorIs(t, err, slacktest.ErrUnacknowledged)
	close(desk.until)
	s.deliver(t, event)
	require.Len(t, desk.Got(), 1)
}

func TestAPressNotStoredIsNotAcknowledged(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	s := open(t, desk, nil, true)
	post := s.send(t, bot.Outbound{ID: "1", Text: "Confirm?", Buttons: []bot.Button{{Action: "confirm J-1", Label: "Confirm"}}})
	desk.Refuse(1)
	_, err := s.Deliver(t.Context(), s.Press(rosa, post, "Confirm"))
	require.ErrorIs(t, err, slacktest.ErrUnacknowledged)
	require.NotErrorIs(t, err, context.DeadlineExceeded, "the person sees at once that it failed")
}
