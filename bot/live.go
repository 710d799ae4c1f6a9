package bot

import (
	"time"

	"proveout/dialog"
)

// Job is a job as lists and alarms see it: a fold of its events. What was read is
// never changed in place.
type Job struct {
	ID         string
	Seq        int64 // of the last event folded in
	Technician string
	Home       Place // where it began and answers go
	// Thread is where the shop reads along, when that is not Home; Root is the message
	// that opened it, by its Outbound.ID.
	Thread    Place
	Root      string `json:",omitempty"`
	Title     string
	Complaint string // what was first said, in full
	Status    string

	// Began is when what opened it was sent, Heard when what was sent last of all that was
	// said was.
	Began, Heard time.Time

	Opened, LastActivity, LastReading time.Time
	Moved                             time.Time // it last got anywhere
	WaitingSince                      time.Time // a call waits for a senior; zero when none does
	ClosedAt                          time.Time

	Asked       string
	Fault       string // the call, else the leading suspect
	Probability float64
	Called      bool
	Given       float64 // the probability the call was made at
	RuledOut    int
	Idle        int    // readings in a row that told nothing
	Taken       string // the senior who has the thread
	Senior      string `json:",omitempty"` // the senior who was given the job
	ConfirmedBy string
	// Cause is the call it was closed with, Proven that it was the cause.
	Cause  string `json:",omitempty"`
	Proven bool   `json:",omitempty"`

	// Undelivered are the messages about it that did not arrive.
	Undelivered []Undelivered `json:",omitempty"`

	Alarmed map[AlarmKind]time.Time
	Snoozed time.Time
	Slot    time.Time // when it has to be done by; zero when nobody has said
}

// Open says whether there is still something to do.
func (j *Job) Open() bool { return j.Status != dialog.Closed }

// apply folds an event into a job: nil is one that does not exist yet. No clock and no
// chance here: the fold of a record is the same whenever and wherever it is made.
func apply(j *Job, e *Event) *Job {
	n := Job{}
	if j != nil {
		n = *j
	}
	n.ID, n.Seq = e.Stream, e.Seq
	if e.Person != "" {
		n.LastActivity = e.At
	}
	switch e.Kind {
	case EventOpened:
		n.Technician, n.Home, n.Title, n.Status = e.Person, e.Place, e.Text, dialog.Measuring
		n.Opened, n.LastReading, n.Moved, n.Began = e.At, e.At, e.At, e.sent()
	case EventThread:
		n.Thread, n.Root = e.Place, e.Key.ID
	case EventAnswered:
		n.answered(e)
	case EventSaid:
		if n.Complaint == "" {
			n.Complaint = e.Text
		}
		if e.Text != "" && e.sent().After(n.Heard) {
			n.Heard = e.sent()
		}
	case EventRuled:
		n.Moved = e.At
		if n.ConfirmedBy = ""; e.Verdict == VerdictConfirmed || e.Verdict == VerdictOverruled {
			n.ConfirmedBy = e.Person
		}
		n.quiet(AlarmWaiting)
		n.quiet(AlarmSenior)
	case EventDead, EventArrived:
		n.Undelivered = failing(n.Undelivered, e)
	case EventTaken:
		n.Taken = e.Person
		n.quiet(AlarmSenior)
	case EventReturned:
		n.Taken = ""
	case EventAlarm:
		n.alarmed(e.Alarm, e.At)
	case EventAssigned:
		n.Senior = e.To
	case EventSlot:
		n.Slot = e.Until
		n.quiet(AlarmSlot)
	case EventSnoozed:
		n.Snoozed = e.Until
	case EventClosed:
		n.ClosedAt, n.Status, n.Cause, n.Proven = e.At, dialog.Closed, e.Fault, e.Verdict == ClosedProven
	case EventEdited, EventDeleted, EventHeld, EventPlaced, EventRest, EventStranger, EventConsent:
	}
	return &n
}

func (j *Job) answered(e *Event) {
	a := e.Reply
	switch {
	case a.Status != dialog.Proposed:
		j.WaitingSince = time.Time{}
	case j.WaitingSince.IsZero():
		j.WaitingSince = e.At
		j.quiet(AlarmWaiting)
	}
	if j.Status == dialog.Closed && a.Status != dialog.Closed { // down again
		j.Opened, j.ClosedAt, j.ConfirmedBy, j.Cause, j.Proven, j.Alarmed = e.At, time.Time{}, "", "", false, nil
	}
	if a.Status != j.Status || a.Progress {
		j.Moved = e.At
	}
	if a.Called && (!j.Called || a.Fault != j.Fault) {
		j.Given = a.Probability
	}
	j.Status, j.Asked, j.Fault, j.Probability, j.Called, j.RuledOut = a.Status, a.Asked, a.Fault, a.Probability, a.Called, a.RuledOut
	switch {
	case a.Readings == 0:
	case a.Progress:
		j.Idle = 0
		j.quiet(AlarmStuck)
	default:
		j.Idle += a.Readings
	}
	if a.Readings > 0 {
		j.LastReading = e.At
		j.quiet(AlarmSilent)
	}
}

// quiet lets an alarm sound again.
func (j *Job) quiet(k AlarmKind) {
	if _, ok := j.Alarmed[k]; !ok {
		return
	}
	left := map[AlarmKind]time.Time{}
	for other, at := range j.Alarmed {
		if other != k {
			left[other] = at
		}
	}
	j.Alarmed = left
}

func (j *Job) alarmed(k AlarmKind, at time.Time) {
	all := map[AlarmKind]time.Time{k: at}
	for other, t := range j.Alarmed {
		if other != k {
			all[other] = t
		}
	}
	j.Alarmed = all
}
