package sms

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"proveout/bot"
)

// Receiver is the service as this adapter needs it. An event it returned from without
// an error is in the record.
type Receiver interface {
	Receive(ctx context.Context, in bot.Inbound) error
}

// Options are how a gateway is reached.
type Options struct {
	Gateway Gateway
	// Number is the shop's own, in E.164; it is what texts are sent from.
	Number string
	// Region is whose numbers come without a country code, such as US.
	Region string
	// Secrets are those the description names.
	Secrets map[string]string
	// Parts is the folder where parts of long texts wait for the others; required where
	// the gateway hands on parts.
	Parts string
	// Client makes the requests; nil is one that gives up after fifteen seconds.
	Client *http.Client
	// Now is the clock; nil is the system's.
	Now func() time.Time
	// Log gets what happens to messages, by id, never what they say or who they are
	// from. The zero value is silent.
	Log zerolog.Logger
	// Metrics count; nil counts for nobody.
	Metrics *Metrics
}

// storeWithin bounds what the service may take for one request.
const storeWithin = 10 * time.Second

// Adapter is a gateway. It sends from the moment it is made, and is an http.Handler
// for the gateway's requests; while Run runs, parts whose others never come are handed
// over as they are.
type Adapter struct {
	to      Receiver
	o       Options
	hooks   map[string]*hook
	parts   *parts // nil where texts come whole
	words   map[string]string
	sending sending
}

var (
	_ bot.Sender   = (*Adapter)(nil)
	_ http.Handler = (*Adapter)(nil)
)

// New makes an adapter that hands what it hears to a receiver. It calls nobody.
func New(to Receiver, o Options) (*Adapter, error) {
	for _, name := range o.Gateway.Secrets() {
		if o.Secrets[name] == "" {
			return nil, fmt.Errorf("sms: the gateway wants the secret %s; name it under channels/sms/secrets", name)
		}
	}
	number, err := bot.E164(o.Number, o.Region)
	if err != nil {
		return nil, fmt.Errorf("sms: the shop's own number: %w", err)
	}
	o.Number = number
	if o.Client == nil {
		o.Client = &http.Client{Timeout: 15 * time.Second}
	}
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Metrics == nil {
		o.Metrics = NewMetrics(nil)
	}
	a := &Adapter{to: to, o: o, hooks: map[string]*hook{}, words: consentWords(o.Gateway.Words)}
	a.hook(o.Gateway.Receive, "receive", a.takeText)
	if o.Gateway.Receipt != nil {
		a.hook(*o.Gateway.Receipt, "receipt", a.takeReceipt)
	}
	if o.Gateway.InParts() {
		if o.Parts == "" {
			return nil, errors.New("sms: the gateway hands on parts of long texts, and no folder is named where they wait")
		}
		if a.parts, err = openParts(o.Parts, o.Now); err != nil {
			return nil, err
		}
	}
	return a, nil
}

// Paths are those to mount the adapter at: its hooks', and all that lies under them, so
// that a path the gateway gets wrong is counted.
func (a *Adapter) Paths() []string {
	paths := map[string]bool{}
	for path := range a.hooks {
		paths[path] = true
		paths[strings.TrimSuffix(path, "/")+"/"] = true
	}
	return slices.Sorted(maps.Keys(paths))
}

// hook makes a description's hook ready.
func (a *Adapter) hook(h Hook, name string, take func(context.Context, fields) error) {
	k := &hook{Hook: h, name: name, take: take, guard: newGuard(h.Auth, a.o.Secrets)}
	for _, text := range h.Allow {
		if p, err := netip.ParsePrefix(text); err == nil { // the description was checked
			k.from = append(k.from, p)
		}
	}
	a.hooks[h.Path] = k
}

// Run hands over what has waited too long, until the context ends.
func (a *Adapter) Run(ctx context.Context) error {
	if a.parts == nil {
		<-ctx.Done()
		return nil
	}
	tick := time.NewTicker(partsLook)
	defer tick.Stop()
	for {
		if err := a.HandOver(ctx); err != nil {
			a.o.Log.Error().Err(err).Msg("parts of a text not stored; trying again")
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			return nil
		}
	}
}

// receive hands one event over. It outlives the connection it came by.
func (a *Adapter) receive(ctx context.Context, in bot.Inbound) error {
	ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), storeWithin)
	defer cancel()
	if err := a.to.Receive(ctx, in); err != nil {
		a.o.Log.Error().Str("message", in.ID).Str("kind", in.Kind).Err(err).Msg("not stored, so not acknowledged")
		return fmt.Errorf("storing the message %s: %w", in.ID, err)
	}
	a.o.Log.Debug().Str("message", in.ID).Str("kind", in.Kind).Msg("stored")
	return nil
}
