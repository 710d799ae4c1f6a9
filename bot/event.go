package bot

import (
	"strings"
	"time"
)

// Event is one thing that happened to a job, as the record keeps it. Events are
// only ever added; a job is the fold of its events.
type Event struct {
	// Stream is the job it belongs to, or "@" and a person's id for what belongs to
	// no job. Seq numbers a stream's events from 1.
	Stream string    `json:"-"`
	Seq    int64     `json:"-"`
	At     time.Time `json:"-"`
	Kind   EventKind `json:"-"`
	// Person is who did it, by id; empty for the agent and the clock.
	Person string `json:"-"`
	// Knowledge is the version of what the agent knew.
	Knowledge string `json:"-"`

	// Key is the inbound event that caused it.
	Key Key `json:"key,omitzero"`
	// Place is where it was said.
	Place Place `json:"place,omitzero"`
	// Sent is when it was sent, where that is not when it came in. Before is the number of
	// the thing said that it was sent before, though it came after; 0 for none.
	Sent   time.Time `json:"sent,omitzero"`
	Before int64     `json:"before,omitempty"`
	// From is whom the talk took the person for; Name what it called him.
	From string `json:"from,omitempty"`
	Name string `json:"name,omitempty"`
	// Language he is answered in; empty is the one he writes in. Of an opened job the
	// one he is answered in until he writes enough to tell his own.
	Language string `json:"language,omitempty"`
	// Text is what was said, or the agent's answer.
	Text string `json:"text,omitempty"`
	// Of is the message an edit or a deletion is about.
	Of    string  `json:"of,omitempty"`
	Files []File  `json:"files,omitempty"`
	Reply *Answer `json:"reply,omitempty"`
	// Fault is what was ruled on, confirmed or closed with; Verdict how.
	Fault   string  `json:"fault,omitempty"`
	Verdict string  `json:"verdict,omitempty"`
	Given   float64 `json:"given,omitempty"` // the probability the call was given
	// Lacks are the instruments the technician of an opened job does not carry.
	Lacks []string `json:"lacks,omitempty"`
	// Passed are the checks a closed job has passed.
	Passed []string `json:"passed,omitempty"`
	// To is who was given the job; empty for nobody.
	To string `json:"to,omitempty"`
	// Alarm is what an alarm is about; Until the end of a snooze or of a slot.
	Alarm AlarmKind `json:"alarm,omitempty"`
	Until time.Time `json:"until,omitzero"`
	// For is whom a message that did not arrive was for, by id.
	For string `json:"for,omitempty"`
	// Forgotten: the text was erased on request, so nothing can be computed from it.
	Forgotten bool `json:"forgotten,omitempty"`
}

// EventKind says what happened.
type EventKind string

// The kinds of events.
const (
	EventOpened   EventKind = "opened"    // the job began
	EventThread   EventKind = "thread"    // its thread in the shop's room was opened
	EventSaid     EventKind = "said"      // somebody wrote
	EventEdited   EventKind = "edited"    // and changed it after
	EventDeleted  EventKind = "deleted"   // or took it back
	EventAnswered EventKind = "answered"  // the agent's answer
	EventRuled    EventKind = "ruled"     // a senior confirmed, overruled or asked for more
	EventTaken    EventKind = "taken"     // a senior took the thread over
	EventReturned EventKind = "returned"  // and handed it back
	EventAlarm    EventKind = "alarm"     // somebody had to be told
	EventSnoozed  EventKind = "snoozed"   // and wants to hear it later
	EventAssigned EventKind = "assigned"  // a senior was given the job, or nobody any more
	EventSlot     EventKind = "slot"      // it was said when it has to be done by
	EventClosed   EventKind = "closed"    // the job ended
	EventHeld     EventKind = "held"      // a message waits for its job to be named
	EventPlaced   EventKind = "placed"    // it was named
	EventRest     EventKind = "rest"      // somebody wanted the last answer whole
	EventStranger EventKind = "turned"    // nobody known wrote
	EventConsent  EventKind = "consent"   // somebody wants messages, or none; Verdict says which
	EventDead     EventKind = "undeliver" // a message, Of, did not reach whom it was for
	EventArrived  EventKind = "arrived"   // and did after all
)

// sent is when a thing said was sent.
func (e *Event) sent() time.Time {
	if e.Sent.IsZero() {
		return e.At
	}
	return e.Sent
}

// Answer is what the record keeps of a reply besides its text.
type Answer struct {
	Status      string  `json:"status"`
	Language    string  `json:"language,omitempty"`
	Asked       string  `json:"asked,omitempty"` // the reading, observation or fact asked for
	Fault       string  `json:"fault,omitempty"` // the call standing, else the leading suspect
	Probability float64 `json:"probability,omitempty"`
	Called      bool    `json:"called,omitempty"`
	Hazard      bool    `json:"hazard,omitempty"`   // a hazard was answered
	Readings    int     `json:"readings,omitempty"` // readings, sightings and facts taken
	RuledOut    int     `json:"ruled_out,omitempty"`
	Progress    bool    `json:"progress,omitempty"` // the readings told something
	Proposes    bool    `json:"proposes,omitempty"` // a senior is asked
	Silent      bool    `json:"silent,omitempty"`   // it was worked out and not sent
	// Proof and Repair are those of the call.
	Proof  []string `json:"proof,omitempty"`
	Repair string   `json:"repair,omitempty"`
}

// Key names an inbound event: its channel and the channel's own id of it.
type Key struct {
	Channel string `json:"channel"`
	ID      string `json:"id"`
}

// Place is where a job is talked about.
type Place struct {
	Channel      string `json:"channel"`
	Conversation string `json:"conversation"`
	Thread       string `json:"thread,omitempty"`
}

// threaded says whether the place names one talk by itself.
func (p Place) threaded() bool { return p.Thread != "" }

// shared says whether others than the technician read along there.
func (p Place) shared() bool { return p.threaded() && p.Channel != Web }

// AlarmKind says what somebody must be told.
type AlarmKind string

// label is the alarm without what it is about, for a metric.
func (k AlarmKind) label() string {
	kind, _, _ := strings.Cut(string(k), ":")
	return kind
}

// The alarms. A hazard's kind is followed by a colon and the hazard.
const (
	AlarmHazard  AlarmKind = "hazard"
	AlarmWaiting AlarmKind = "proposal-waiting"
	AlarmSilent  AlarmKind = "no-reading"
	AlarmStuck   AlarmKind = "no-progress"
	AlarmSlot    AlarmKind = "past-slot"
	AlarmSenior  AlarmKind = "senior-wanted"
)

// The verdicts of a senior.
const (
	VerdictConfirmed = "confirmed"
	VerdictOverruled = "overruled"
	VerdictMore      = "one more reading"
)
