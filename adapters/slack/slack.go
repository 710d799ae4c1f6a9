package slack

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"github.com/rs/zerolog"
	"github.com/slack-go/slack"

	"proveout/bot"
)

// Channel is the name of this channel in messages, people's identities and the
// configuration.
const Channel = "slack"

// storeWithin bounds what the service may take for one event. Slack waits three
// seconds for the acknowledgement; what took longer is delivered again anyway.
const storeWithin = 2500 * time.Millisecond

// Receiver is the service as this adapter needs it. An event it returned from
// without an error is in the record.
type Receiver interface {
	Receive(ctx context.Context, in bot.Inbound) error
}

// Board is what the app shows besides messages: the open jobs a person may see, for its
// home, and the words of his language; of the shop's for a room.
type Board interface {
	OpenJobs(channel, identity string) []bot.Summary
	PhrasesFor(channel, identity string) bot.Phrases
}

// Options are how a workspace is reached. The bot token is required, and an app
// token or a signing secret to hear by.
type Options struct {
	// BotToken sends: xoxb-….
	BotToken string
	// AppToken hears by Socket Mode: xapp-….
	AppToken string
	// SigningSecret hears by HTTP events: mount the adapter as a handler.
	SigningSecret string
	// API is the address of Slack's methods, ending in a slash; empty is Slack's own.
	API string
	// Client makes the calls; nil is one that gives up after fifteen seconds.
	Client *http.Client
	// Board fills the app's home and has its words; it is required.
	Board Board
	// Now is the clock signatures are checked by; nil is the system's.
	Now func() time.Time
	// Log gets what happens to messages, by id, never what they say. The zero value
	// is silent.
	Log zerolog.Logger
}

// Validate names the token that is missing or is of the wrong kind. It shows none.
func (o Options) Validate() error {
	switch {
	case !strings.HasPrefix(o.BotToken, "xoxb-"):
		return errors.New("slack: the bot token does not begin with xoxb-; copy the Bot User OAuth Token from OAuth & Permissions")
	case o.AppToken != "" && !strings.HasPrefix(o.AppToken, "xapp-"):
		return errors.New("slack: the app token does not begin with xapp-; make an app-level token with connections:write under Basic Information")
	case o.AppToken == "" && o.SigningSecret == "":
		return errors.New("slack: neither an app token nor a signing secret is given; give one to hear by Socket Mode, the other to hear by HTTP")
	}
	return nil
}

// Adapter is a workspace. It sends from the moment it is made; it hears while Run
// runs, and is an http.Handler for Slack's requests.
type Adapter struct {
	to      Receiver
	o       Options
	api     *slack.Client
	homes   chan string // people whose home waits to be filled
	sending sending
	names   names
}

var (
	_ bot.Sender   = (*Adapter)(nil)
	_ http.Handler = (*Adapter)(nil)
)

// New makes an adapter that hands what it hears to a receiver. It calls nobody.
func New(to Receiver, o Options) (*Adapter, error) {
	if err := o.Validate(); err != nil {
		return nil, err
	}
	if o.Board == nil {
		return nil, errors.New("slack: there is no board to fill the app's home from")
	}
	if o.API == "" {
		o.API = slack.APIURL
	}
	if o.Client == nil {
		o.Client = &http.Client{Timeout: 15 * time.Second}
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	api := slack.New(o.BotToken, slack.OptionAppLevelToken(o.AppToken), slack.OptionAPIURL(o.API), slack.OptionHTTPClient(o.Client))
	return &Adapter{to: to, o: o, api: api, homes: make(chan string, 64)}, nil
}

// Run hears until the context ends and has finished what it took when it returns.
// An error means that Slack refuses the tokens.
func (a *Adapter) Run(ctx context.Context) error {
	who, err := a.api.AuthTestContext(ctx)
	switch {
	case refused(err):
		return fmt.Errorf("slack: the bot token is refused, install the app again and copy the new one: %w", a.scrub(err))
	case err != nil:
		a.o.Log.Warn().Err(a.scrub(err)).Msg("slack could not be asked who we are; going on")
	default:
		a.names.us(who.UserID)
	}
	ctx, cancel := context.WithCancel(ctx)
	home := make(chan struct{})
	go func() {
		defer close(home)
		a.fillHomes(ctx)
	}()
	if a.o.AppToken != "" {
		err = a.listen(ctx)
	} else {
		<-ctx.Done()
		err = nil
	}
	cancel()
	<-home
	return err
}

// receive hands one event over. It outlives the connection it came by, not the time
// Slack waits.
func (a *Adapter) receive(ctx context.Context, in bot.Inbound) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
	defer cancel()
	if err := a.to.Receive(ctx, in); err != nil {
		err = a.scrub(err)
		a.o.Log.Error().Str("message", in.ID).Str("kind", in.Kind).Err(err).Msg("not stored, so not acknowledged")
		return fmt.Errorf("storing the message %s: %w", in.ID, err)
	}
	a.o.Log.Debug().Str("message", in.ID).Str("kind", in.Kind).Msg("stored")
	return nil
}
