package bot

import (
	"context"
	"time"
)

// Store is the record the service writes to. Its errors carry a code; see Error.
type Store interface {
	// Append writes an entry whole or not at all, and has it on the disk when it
	// returns. CodeSeen: the entry's key is in the record, nothing was changed.
	// CodeConflict: the stream stands elsewhere than the entry says.
	Append(ctx context.Context, e *Entry) error
	// Read gives a stream's newest snapshot, or nil, and the events after it; whole
	// gives every event and no snapshot. A stream nobody wrote to has no events.
	Read(ctx context.Context, stream string, whole bool) (*Snapshot, []Event, error)
	// Restore hands over every open stream in order of its name, with its snapshot
	// (without Talk) and the events after it.
	Restore(ctx context.Context, take func(stream string, at *Snapshot, after []Event) error) error
	// JobAt names the job talked about at a threaded place, where it was opened or has its
	// thread, closed ones too; empty when there is none.
	JobAt(ctx context.Context, p Place) (string, error)
	// Newest names the job opened last, open or closed; empty when there is none. A number
	// that was given is not given again.
	Newest(ctx context.Context) (string, error)
	// Find lists the jobs, open and closed, whose words hold every term, the newest first
	// and no more than so many. A term is the beginning of a word, letters and digits.
	Find(ctx context.Context, terms []string, most int) ([]string, error)
	// Pending lists the messages not yet delivered nor given up, oldest first.
	Pending(ctx context.Context) ([]Outbound, error)
	// Sent gives the message that was delivered under a channel's id of it, or nil.
	Sent(ctx context.Context, channel, external string) (*Outbound, error)
	// LastAnswer gives the newest message with a Reply to a place without a thread, or
	// nil.
	LastAnswer(ctx context.Context, p Place) (*Outbound, error)
	// Settle notes how a delivery went. The channel's id of what was delivered becomes a
	// key of the record: an event under it is an echo.
	Settle(ctx context.Context, d Delivery) error
	// Expire erases the jobs closed before a time and says how many.
	Expire(ctx context.Context, before time.Time) (int, error)
}

// Shared is a record that several services write to at once. Each decides on what it
// knows of the record and is refused with CodeConflict where another has written since;
// then it looks again. Each message is delivered by the one that has its lane.
type Shared interface {
	Store
	// Now is the time by the record's clock, which all its services go by.
	Now() time.Time
	// Hold keeps the service among those that answer until the context ends: it hears of
	// what others write and takes over from those that die. An error says that others
	// take it for dead.
	Hold(ctx context.Context) error
	// Woken tells that there may be something to Follow or to Take; a while without it
	// tells the same.
	Woken() <-chan struct{}
	// Follow hands over the events that were written since it was last called, since
	// Restore the first time, in the order they were written: those that are news. One may
	// come again, and the service's own do, since it may have lost the answer.
	Follow(ctx context.Context, news func(Mark) bool, take func(Event) error) error
	// Stands says what a person did last, and where the streams stand that his next
	// message may be about: his own and his open jobs.
	Stands(ctx context.Context, person string) (last Mark, streams []Mark, err error)
	// Take gives the messages that wait in lanes no other service delivers, of so many
	// lanes at most, in order; from then on this one delivers them. Each is given once.
	Take(ctx context.Context, lanes int) ([]Outbound, error)
}

// Mark is where a stream stands: its name and the number of an event.
type Mark struct {
	Stream string
	Seq    int64
}

// Entry is everything one inbound event, or one tick of the clock, changes.
type Entry struct {
	Key    Key    // zero when the clock caused it
	Stream string // empty when no stream is touched
	After  int64  // where the stream stood: the sequence of its last event
	At     time.Time
	Events []Event
	Out    []Outbound
	// Words are what the stream can be found by from now on, besides what it could be.
	Words string
	// Closed says whether the stream is closed after the entry.
	Closed   bool
	Snapshot *Snapshot // nil for none
	// With is another stream's entry, without a key, that stands or falls with this
	// one.
	With *Entry
	// Speaker is whose message it is, and Since what he did last that the entry knows of:
	// a record that is Shared refuses one that knows less, with CodeConflict.
	Speaker string
	Since   Mark
}

// Snapshot is a stream as it stood after an event, so that a restart need not fold a
// year of them. It can be thrown away: the events hold everything.
type Snapshot struct {
	Seq       int64
	Knowledge string
	Live      []byte // the job in lists
	Talk      []byte // the talk's state
}

// Delivery is how sending a message went.
type Delivery struct {
	ID       string // Outbound.ID
	Channel  string
	At       time.Time
	Attempts int
	External string // the channel's id of it, when delivered
	Dead     string // why it was given up; empty when delivered
}
