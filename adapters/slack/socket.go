package slack

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log"
	"time"

	"github.com/slack-go/slack"
	"github.com/slack-go/slack/slackevents"
	"github.com/slack-go/slack/socketmode"
)

// largest is the size in bytes of what is still read as one request of Slack's.
const largest = 1 << 20

// ackWithin bounds the wait for room among the acknowledgements to be written, so
// that a lost connection never stops the hearing.
const ackWithin = time.Second

// listen hears by Socket Mode, one event after another: a shop's workspace is sent
// a few a second at most, and their order is kept.
func (a *Adapter) listen(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	client := socketmode.New(a.api, socketmode.OptionReadLimit(largest), socketmode.OptionLog(log.New(io.Discard, "", 0)))
	ended := make(chan error, 1)
	go func() { ended <- client.RunContext(ctx) }()
	for {
		select {
		case err := <-ended:
			if ctx.Err() != nil {
				return nil //nolint:nilerr // it was asked to end
			}
			return fmt.Errorf("slack: the app token is refused, make a new one with connections:write: %w", a.scrub(err))
		case e := <-client.Events:
			if err := a.event(ctx, client, e); err != nil {
				a.o.Log.Warn().Err(a.scrub(err)).Msg("slack may deliver an event again")
			}
		}
	}
}

// event takes one event of the socket and acknowledges it when it is stored or none
// of ours.
func (a *Adapter) event(ctx context.Context, client *socketmode.Client, e socketmode.Event) error {
	answer := any(nil)
	switch data := e.Data.(type) {
	case slackevents.EventsAPIEvent:
		if err := a.happened(ctx, data.InnerEvent.Data); err != nil {
			return err
		}
	case slack.InteractionCallback:
		if err := a.pressed(ctx, data); err != nil {
			return err
		}
	case slack.SlashCommand:
		answer = a.commanded(ctx, data)
	case *socketmode.ErrorBadMessage:
		return a.unreadable(ctx, client, data)
	case *slack.ConnectionErrorEvent:
		a.o.Log.Warn().Err(a.scrub(data.ErrorObj)).Dur("again_in", data.Backoff).Msg("slack cannot be reached")
		return nil
	default: // the connection's own comings and goings
		a.o.Log.Debug().Str("event", string(e.Type)).Msg("socket")
		return nil
	}
	return a.acknowledge(ctx, client, e.Request.EnvelopeID, answer)
}

// unreadable acknowledges what the library cannot read: a kind of event we did not
// ask for. Left alone it would come again and again.
func (a *Adapter) unreadable(ctx context.Context, client *socketmode.Client, bad *socketmode.ErrorBadMessage) error {
	envelope := struct {
		ID string `json:"envelope_id"`
	}{}
	if json.Unmarshal(bad.Message, &envelope) != nil || envelope.ID == "" {
		return fmt.Errorf("reading what came by the socket: %w", bad.Cause)
	}
	a.o.Log.Warn().Err(a.scrub(bad.Cause)).Msg("an event of a kind unknown here was passed over")
	return a.acknowledge(ctx, client, envelope.ID, nil)
}

func (a *Adapter) acknowledge(ctx context.Context, client *socketmode.Client, envelope string, answer any) error {
	ctx, cancel := context.WithTimeout(ctx, ackWithin)
	defer cancel()
	if err := client.AckCtx(ctx, envelope, answer); err != nil {
		return fmt.Errorf("acknowledging: %w", err)
	}
	return nil
}
