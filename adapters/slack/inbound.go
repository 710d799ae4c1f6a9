package slack

import (
	"context"
	"strconv"
	"strings"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"

	"proveout/bot"
)

// ref is a message's id: a timestamp is unique within a conversation only.
func ref(conversation, ts string) string {
	if ts == "" {
		return ""
	}
	return conversation + "/" + ts
}

// timestamp is the part of an id that Slack knows a message by, or empty when the
// id is not a message's.
func timestamp(id string) string {
	ts := id[strings.LastIndexByte(id, '/')+1:]
	whole, fraction, ok := strings.Cut(ts, ".")
	if !ok || whole == "" || fraction == "" || strings.Trim(whole+fraction, "0123456789") != "" {
		return ""
	}
	return ts
}

// moment is when a timestamp was given.
func moment(ts string) time.Time {
	whole, fraction, _ := strings.Cut(ts, ".")
	sec, err := strconv.ParseInt(whole, 10, 64)
	if err != nil {
		return time.Time{}
	}
	micro, _ := strconv.ParseInt((fraction + "000000")[:6], 10, 64)
	return time.Unix(sec, micro*int64(time.Microsecond)).UTC()
}

// happened takes an event of the workspace.
func (a *Adapter) happened(ctx context.Context, event any) error {
	switch e := event.(type) {
	case *slackevents.MessageEvent:
		if in, ok := a.message(ctx, e); ok {
			return a.receive(ctx, in)
		}
	case *slackevents.AppMentionEvent:
		// The message event of the same timestamp says the same, where we are in the
		// conversation; where we are not, this one is all there is.
		if e.BotID == "" {
			return a.receive(ctx, a.said(ctx, e.Channel, "", slack.Msg{
				User: e.User, Text: e.Text, Timestamp: e.TimeStamp, ThreadTimestamp: e.ThreadTimeStamp, Files: e.Files,
			}))
		}
	case *slackevents.AppHomeOpenedEvent:
		if e.Tab == "home" {
			a.openHome(e.User)
		}
	}
	return nil
}

// message reads a message event. What bots say, we among them, and what Slack says
// of joins and topics is nobody's message.
func (a *Adapter) message(ctx context.Context, e *slackevents.MessageEvent) (bot.Inbound, bool) {
	switch e.SubType {
	case "", slack.MsgSubTypeFileShare, slack.MsgSubTypeThreadBroadcast, slack.MsgSubTypeMeMessage:
		m := *e.Message
		return a.said(ctx, e.Channel, e.ChannelType, m), m.BotID == "" && m.User != ""
	case slack.MsgSubTypeMessageChanged:
		return a.changed(ctx, e)
	case slack.MsgSubTypeMessageDeleted:
		if e.PreviousMessage == nil {
			return bot.Inbound{}, false
		}
		return deleted(e, *e.PreviousMessage)
	}
	return bot.Inbound{}, false
}

func (a *Adapter) said(ctx context.Context, conversation, kind string, m slack.Msg) bot.Inbound {
	in := bot.Inbound{
		Channel: Channel, ID: ref(conversation, m.Timestamp), Conversation: conversation, Thread: thread(conversation, m),
		From: m.User, Kind: bot.Said, Text: a.plain(ctx, m.Text), At: moment(m.Timestamp), Files: files(m.Files),
	}
	if in.Thread == "" && kind != slackevents.ChannelTypeIM {
		in.Starts = in.ID // in a direct talk an answer stands under what it answers
	}
	return in
}

// changed reads an edit. Slack also reports as changed what it unfurled or threaded
// itself, with no edit or with the text as it was.
func (a *Adapter) changed(ctx context.Context, e *slackevents.MessageEvent) (bot.Inbound, bool) {
	m := *e.Message
	if m.SubType == "tombstone" && e.PreviousMessage != nil { // deleted, but its thread stands
		return deleted(e, *e.PreviousMessage)
	}
	same := e.PreviousMessage != nil && e.PreviousMessage.Text == m.Text && len(e.PreviousMessage.Files) == len(m.Files)
	if m.Edited == nil || same || m.BotID != "" || m.User == "" {
		return bot.Inbound{}, false
	}
	in := a.said(ctx, e.Channel, e.ChannelType, m)
	in.Kind, in.Of, in.Starts = bot.Edited, in.ID, ""
	in.ID += "/edited/" + m.Edited.Timestamp
	in.At = moment(m.Edited.Timestamp)
	return in, true
}

// deleted reads a message taken back, by whoever did.
func deleted(e *slackevents.MessageEvent, was slack.Msg) (bot.Inbound, bool) {
	of := ref(e.Channel, was.Timestamp)
	return bot.Inbound{
		Channel: Channel, ID: of + "/deleted", Conversation: e.Channel, Thread: thread(e.Channel, was),
		From: was.User, Kind: bot.Deleted, Of: of, At: moment(e.EventTimeStamp),
	}, was.BotID == "" && was.User != ""
}

// thread is the thread a message is in; the message a thread hangs on is in none.
func thread(conversation string, m slack.Msg) string {
	if m.ThreadTimestamp == m.Timestamp {
		return ""
	}
	return ref(conversation, m.ThreadTimestamp)
}

func files(fs []slack.File) []bot.File {
	var out []bot.File
	for _, f := range fs {
		out = append(out, bot.File{ID: f.ID, Name: f.Name, Kind: f.Mimetype, URL: f.URLPrivate, Size: int64(f.Size)})
	}
	return out
}

// pressed takes a button. What is pressed twice comes twice; whether the second
// still counts is the service's to say.
func (a *Adapter) pressed(ctx context.Context, p slack.InteractionCallback) error {
	if p.Type != slack.InteractionTypeBlockActions {
		return nil
	}
	for _, b := range p.ActionCallback.BlockActions {
		if b.Type != slack.ActionType(slack.METButton) || !strings.HasPrefix(b.ActionID, actionPrefix) {
			continue
		}
		in := bot.Inbound{
			Channel: Channel, Conversation: p.Container.ChannelID, From: p.User.ID, Kind: bot.Pressed, Action: b.Value,
			Text: b.Text.Text, At: moment(b.ActionTs),
		}
		if p.Container.MessageTs != "" {
			m := p.Message.Msg
			m.Timestamp, m.ThreadTimestamp = p.Container.MessageTs, first(p.Container.ThreadTs, m.ThreadTimestamp)
			in.Of, in.Thread = ref(in.Conversation, m.Timestamp), thread(in.Conversation, m)
		} else if place, ok := strings.CutPrefix(b.BlockID, placePrefix); ok { // in the app's home
			place, _, _ = strings.Cut(place, "#")
			in.Conversation, _, _ = strings.Cut(place, "/")
			if timestamp(place) != "" {
				in.Thread = place
			}
		}
		in.ID = strings.Join([]string{first(in.Of, p.Container.ViewID), "pressed", b.ActionTs, p.User.ID, b.ActionID}, "/")
		if err := a.receive(ctx, in); err != nil {
			return err
		}
	}
	return nil
}

// commanded takes a command. Slack gives a command up after one try, so the answer
// to one not stored tells the person, who alone sees it; else there is none.
func (a *Adapter) commanded(ctx context.Context, c slack.SlashCommand) any {
	err := a.receive(ctx, bot.Inbound{
		Channel: Channel, ID: "command/" + c.TriggerID, Conversation: c.ChannelID, From: c.UserID, Kind: bot.Pressed,
		Action: bot.Command, Text: strings.TrimSpace(a.plain(ctx, c.Text)), At: a.o.Now().UTC(),
	})
	if err == nil {
		return nil
	}
	return map[string]string{
		"response_type": "ephemeral",
		"text":          a.o.Board.PhrasesFor(Channel, c.UserID).Say("command-lost", "command", c.Command),
	}
}

// first is the first that is not empty.
func first(of ...string) string {
	for _, s := range of {
		if s != "" {
			return s
		}
	}
	return ""
}
