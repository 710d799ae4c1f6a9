package conformance

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"

	"proveout/bot"
)

// Channel is an adapter between a desk and its fake network.
type Channel struct {
	Desk         *Desk
	Sender       bot.Sender
	Conversation string // where People speak, and where the laws send to
	People       People
	Carrier      Carrier
}

// People speak in the conversation.
type People interface {
	// Say has a person say a text. The event is delivered once; the error is nil when
	// it was acknowledged.
	Say(ctx context.Context, text string) error
	// Again delivers the last event once more, as the network does when it has seen no
	// acknowledgement.
	Again(ctx context.Context) error
}

// Carrier is the network as far as it carries what is sent.
type Carrier interface {
	// Refuse has the network refuse one message, after so many that it takes.
	Refuse(skip int, how Refusal)
	// Shown lists what a person sees of the messages sent, oldest first.
	Shown() []string
	// Secrets are what no error may tell.
	Secrets() []string
}

// Refusal is a way in which a message is not taken.
type Refusal int

// The refusals.
const (
	RateLimited Refusal = iota // too many; again after Pause
	Broken                     // the network has a fault of its own
	Rejected                   // this message never
	CutOff                     // the connection ends, nobody knows where
	Lost                       // the message is taken, the answer lost
)

// Pause is how long a network that limits the rate says to wait.
const Pause = 7 * time.Second

// errRefused is what a desk says that was told to refuse.
var errRefused = errors.New("the record cannot be written")

// Desk is a service that keeps what it is handed, in memory.
type Desk struct {
	mu      sync.Mutex
	refuses int
	got     []bot.Inbound
}

var _ bot.Receiver = (*Desk)(nil)

// Receive keeps an event, repeats too, or refuses it.
func (d *Desk) Receive(_ context.Context, in bot.Inbound) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.refuses > 0 {
		d.refuses--
		return errRefused
	}
	d.got = append(d.got, in)
	return nil
}

// Refuse has the desk refuse the next n events.
func (d *Desk) Refuse(n int) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.refuses = n
}

// Got lists what came in, in order.
func (d *Desk) Got() []bot.Inbound {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Clone(d.got)
}
