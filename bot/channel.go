package bot

import (
	"context"
	"fmt"
	"io"
	"time"

	"proveout/bot/ladder"
)

// The kinds of inbound events.
const (
	Said    = "message" // a message
	Edited  = "edit"    // a message changed after it was sent: a correction
	Deleted = "delete"  // a message taken back
	Pressed = "action"  // a button pressed or a command given
	Receipt = "receipt" // what became of a message that was sent
	Consent = "consent" // one of the words every carrier knows: whether he wants to be texted
)

// What the Action of a receipt or of a consent says.
const (
	Arrived = "delivered" // the message is on the phone
	Failed  = "failed"    // it will not be; Text is the reason in the channel's words
	Stop    = "stop"      // nothing more is to be sent to him
	Start   = "start"     // he may be written to again
	Help    = "help"      // he asks who this is
)

// Texts is the channel of text messages: its identities and conversations are phone
// numbers in E.164, as E164 writes them.
const Texts = "sms"

// Inbound is one event as a channel brings it in. Channel and ID together are its
// key: the same key twice is the same event delivered again. The ids of what comes in
// and of what Send returns are of one space: an event under the id of a message sent is
// its echo, and not taken.
type Inbound struct {
	Channel      string // slack, sms, web, terminal
	ID           string // the channel's own id, unique within the channel
	Conversation string // the room, or the phone number it came from
	Thread       string // within the room; empty for an unthreaded message
	Starts       string // the thread that answers to an unthreaded message open; empty in a channel without threads
	From         string // the sender's identity in the channel
	Kind         string
	Of           string // for an edit, a deletion, a button or a receipt: the message it is about
	Text         string
	Action       string    // what was pressed: a Button's Action as it came; or what a receipt or consent says
	At           time.Time // when it was sent, as the channel knows; zero when it does not
	Files        []File
}

// File is an attachment, kept as a reference: nobody here can read a picture.
type File struct {
	ID, Name, Kind, URL string
	Size                int64
}

// Outbound is one message to deliver. ID is stable over retries, so that a channel
// that can tell repeats apart delivers it once.
type Outbound struct {
	ID           string
	At           time.Time `json:",omitzero"` // when it was put down
	Channel      string
	Conversation string `json:",omitempty"` // empty: to the person To, directly
	Thread       string `json:",omitempty"` // empty: not in a thread
	To           string `json:",omitempty"` // a person's identity in the channel, when Conversation is empty
	// Job is the one it is about, if any. Joins: it belongs in that job's thread in the
	// room Conversation. The outbox fills in the Thread; where there is none yet, this
	// message opens it.
	Job   string `json:",omitempty"`
	Joins bool   `json:",omitempty"`
	Text  string // plain text, complete in itself
	// Reply is the same in its parts, where it answers a message; else nil. What
	// waited in the record keeps Text, Lines, Ask, Call, Cautions and Status of it.
	Reply *Reply `json:",omitempty"`
	// More tells the reader, in his language, how to get the rest of a reply that a
	// channel of short messages cuts; it stands with every Reply.
	More string `json:",omitempty"`
	// Whole: he has asked for the rest, so nothing may be cut.
	Whole bool `json:",omitempty"`
	// Notice: nobody has asked for it just now, so it waits for the end of the quiet
	// hours.
	Notice bool `json:",omitempty"`
	// Consent: it answers one of the carriers' words, so it goes even to who wants no
	// messages.
	Consent bool `json:",omitempty"`
	// Draws is the language the job's circuit goes with it in; empty for none. The outbox
	// draws it as the job stands when the message is carried; a channel without pictures
	// has the Text.
	Draws   string  `json:",omitempty"`
	Drawing Picture `json:"-"`
	// Quoted: it is what a person said, to be passed on as he wrote it.
	Quoted  bool     `json:",omitempty"`
	Buttons []Button `json:",omitempty"`
	// Again: the service was stopped before its delivery was noted, so it may be there
	// already. A channel that can look does.
	Again bool `json:"-"`
}

// Lane names what a message must stay in order with.
func (m *Outbound) Lane() string { return lane(m).name() }

// Picture is what a channel shows as it can: in pixels, in characters, or in words alone.
type Picture interface {
	Title() string
	Description() string
	Text() string
	PNG(w io.Writer, look ladder.Look, scale float64) error
}

// Command is the Action of a Pressed event that is a command of the channel's own, with
// what was written behind it in Text.
const Command = "command"

// Button is an answer a person may press instead of typing.
type Button struct {
	Action string // comes back as Inbound.Action
	Label  string
	Danger bool // changes or ends something
}

// Sender delivers to one channel and gives the channel's id of the message, which a
// Receipt names. An error that is a *DeliveryError says whether to try again.
type Sender interface {
	Send(ctx context.Context, m Outbound) (id string, err error)
}

// Receiver takes what a channel brings in. Once it has returned without an error
// the event is in the record and may be acknowledged; after an error the channel
// delivers it again or tells the sender. A repeat is no error.
type Receiver interface {
	Receive(ctx context.Context, in Inbound) error
}

// DeliveryError is a message not delivered. The adapter decides whether it may be
// tried again and when; the outbox does the trying.
type DeliveryError struct {
	Retry  bool
	After  time.Duration // 0: the outbox's own back-off
	Reason string        // one of a few words, for a metric's label
	Err    error
}

// Error says what failed and why.
func (e *DeliveryError) Error() string {
	return fmt.Sprintf("delivering a message: %s: %v", e.Reason, e.Err)
}

// Unwrap gives the channel's own error.
func (e *DeliveryError) Unwrap() error { return e.Err }
