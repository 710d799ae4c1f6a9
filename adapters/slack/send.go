package slack

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"sync"
	"time"

	"github.com/slack-go/slack"

	"proveout/bot"
)

// outboundEvent names the metadata a message carries: which of ours it is, so that
// one whose acknowledgement was lost can be found again.
const outboundEvent = "proveout_outbound"

// clockMargin is how far Slack's clock may run behind ours.
const clockMargin = 2 * time.Minute

// state is how far a message got that was not delivered in one go.
type state struct {
	done   []string // the timestamps of the parts that are there
	where  string   // the conversation they are in
	unsure bool     // the next part may be there as well
	since  time.Time
}

// sending remembers the messages under way by their id. A message given up stays
// until it is one of too many.
type sending struct {
	mu    sync.Mutex
	order []string
	by    map[string]state
}

const sendingKept = 1000

func (s *sending) get(id string) (state, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	st, ok := s.by[id]
	return st, ok
}

func (s *sending) put(id string, st state) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.by == nil {
		s.by = map[string]state{}
	}
	if _, ok := s.by[id]; !ok {
		s.order = append(s.order, id)
		if len(s.order) > sendingKept {
			delete(s.by, s.order[0])
			s.order = s.order[1:]
		}
	}
	s.by[id] = st
}

func (s *sending) drop(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.by, id)
	s.order = slices.DeleteFunc(s.order, func(o string) bool { return o == id })
}

// Send delivers a message and returns its id; of several, the last's, under which
// the buttons stand. Every error is a *bot.DeliveryError. A message sent again under
// the same id goes on where it stopped, and what may be there already, from before the
// service was stopped too, is looked for first, so that it is shown once.
func (a *Adapter) Send(ctx context.Context, m bot.Outbound) (string, error) {
	conversation := first(m.Conversation, m.To)
	if conversation == "" {
		return "", &bot.DeliveryError{Reason: "unreachable", Err: errors.New("slack: the message names neither a conversation nor a person")}
	}
	for _, b := range m.Buttons {
		if len(b.Action) > mostInValue || b.Action == "" || b.Label == "" {
			return "", &bot.DeliveryError{Reason: "rejected", Err: fmt.Errorf("slack: the button %.40q has no label or action, or one over %d characters", b.Label, mostInValue)}
		}
	}
	at, known := a.sending.get(m.ID)
	again := m.Again && m.Conversation != "" && !m.At.IsZero() // a direct talk has to be opened before it can be looked into
	switch {
	case known:
	case again:
		at.unsure, at.since = true, m.At
	default:
		at.since = a.o.Now()
	}
	conversation = first(at.where, conversation)
	parts := compose(m, a.o.Board.PhrasesFor(Channel, m.To))
	for i := len(at.done); i < len(parts); i++ {
		ts, where, err := a.part(ctx, conversation, timestamp(m.Thread), m.ID, i, parts[i], at)
		if err != nil {
			at.unsure = at.unsure || unsure(err)
			a.sending.put(m.ID, at)
			return "", a.failed(err)
		}
		at.done, at.unsure = append(slices.Clone(at.done), ts), again
		at.where, conversation = where, where
	}
	if m.Drawing != nil {
		if err := a.picture(ctx, conversation, timestamp(m.Thread), m, at); err != nil {
			at.unsure = at.unsure || unsure(err)
			a.sending.put(m.ID, at)
			return "", a.failed(err)
		}
	}
	a.sending.drop(m.ID)
	return ref(conversation, at.done[len(at.done)-1]), nil
}

// part delivers one part of a message, unless it is there. It returns its timestamp
// and conversation: a message to a person gets one of its own.
func (a *Adapter) part(ctx context.Context, conversation, thread, id string, n int, m message, at state) (ts, where string, err error) {
	if at.unsure {
		ts, err := a.find(ctx, conversation, thread, id, n, at.since)
		if err != nil {
			return "", "", fmt.Errorf("looking whether the message is there: %w", err)
		}
		if ts != "" {
			return ts, conversation, nil
		}
	}
	options := []slack.MsgOption{
		slack.MsgOptionText(m.fallback(), false), slack.MsgOptionParse(false), slack.MsgOptionDisableMarkdown(),
		slack.MsgOptionDisableLinkUnfurl(), slack.MsgOptionDisableMediaUnfurl(),
		slack.MsgOptionMetadata(slack.SlackMetadata{EventType: outboundEvent, EventPayload: map[string]any{"id": id, "part": strconv.Itoa(n)}}),
	}
	if thread != "" {
		options = append(options, slack.MsgOptionTS(thread))
	}
	where, ts, err = a.api.PostMessageContext(ctx, conversation, append(slices.Clone(options), slack.MsgOptionBlocks(m.blocks()...))...)
	if slices.Contains(blockErrors, code(err)) {
		a.o.Log.Error().Err(a.scrub(err)).Str("message", id).Msg("slack refuses the blocks; sending the plain text")
		where, ts, err = a.api.PostMessageContext(ctx, conversation, options...)
	}
	return ts, where, err
}

// find looks for a part of a message where it would be.
func (a *Adapter) find(ctx context.Context, conversation, thread, id string, n int, since time.Time) (string, error) {
	ts, _, err := a.seek(ctx, conversation, thread, since, func(m *slack.Message) bool {
		p := m.Metadata.EventPayload
		return m.Metadata.EventType == outboundEvent && p["id"] == id && p["part"] == strconv.Itoa(n)
	})
	return ts, err
}

// seek looks for a message in a thread, or in a conversation.
func (a *Adapter) seek(ctx context.Context, conversation, thread string, since time.Time, is func(*slack.Message) bool) (ts string, found bool, err error) {
	oldest := strconv.FormatInt(since.Add(-clockMargin).Unix(), 10) + ".000000"
	cursor := ""
	for {
		ms, next, err := a.page(ctx, conversation, thread, oldest, cursor)
		if err != nil {
			return "", false, err
		}
		for i := range ms {
			if is(&ms[i]) {
				return ms[i].Timestamp, true, nil
			}
		}
		if cursor = next; cursor == "" {
			return "", false, nil
		}
	}
}

// page reads some messages of a thread, or of a conversation.
func (a *Adapter) page(ctx context.Context, conversation, thread, oldest, cursor string) ([]slack.Message, string, error) {
	const limit = 100
	if thread != "" {
		ms, _, next, err := a.api.GetConversationRepliesContext(ctx, &slack.GetConversationRepliesParameters{
			ChannelID: conversation, Timestamp: thread, Oldest: oldest, Cursor: cursor, Limit: limit, IncludeAllMetadata: true,
		})
		return ms, next, err
	}
	r, err := a.api.GetConversationHistoryContext(ctx, &slack.GetConversationHistoryParameters{
		ChannelID: conversation, Oldest: oldest, Cursor: cursor, Limit: limit, IncludeAllMetadata: true,
	})
	if err != nil {
		return nil, "", err
	}
	return r.Messages, r.ResponseMetaData.NextCursor, nil
}
