package bot

import (
	"slices"
	"time"

	"proveout/dialog"
)

// lateAfter is how much later than it was sent a message comes in that is called late.
// It is also how far the clocks of two channels, or of two people's phones, may be
// apart: within it what they said stands as it came in.
const lateAfter = 5 * time.Minute

// late says whether the message came in long after it was sent.
func (w *work) late() bool {
	came := w.now
	if !w.came.IsZero() {
		came = w.came
	}
	return came.Sub(w.in.At) >= lateAfter
}

// sent is when the message was sent, for its event: zero where that is when it came in.
func (w *work) sent() time.Time {
	if w.in.At.Equal(w.now) {
		return time.Time{}
	}
	return w.in.At
}

// belongs finds, among a job's events, the thing said that e was sent before though it
// came in after, by its number; 0 when there is none. One person's messages of one
// channel are of one clock, and stand in the order they were sent in.
func belongs(events []Event, e *Event) int64 {
	for _, o := range asSaid(events) {
		apart := lateAfter
		if o.Person == e.Person && o.Place.Channel == e.Place.Channel {
			apart = 0
		}
		if o.Kind == EventSaid && o.Text != "" && o.sent().Sub(e.sent()) > apart {
			return o.Seq
		}
	}
	return 0
}

// sayInPlace takes a message that was sent before what is said already: the talk is what
// it would have been had it come in time, and it is answered as that talk stands now.
func (w *work) sayInPlace(e Event, events []Event) {
	before := w.job
	w.add(e)
	e = w.events[len(w.events)-1]
	events = append(events, e)
	own, last := &dialog.Reply{}, (*dialog.Reply)(nil)
	w.talk = fold(w.agent, w.agent.Open(), events, func(of *Event, r *dialog.Reply) {
		if last = r; of.Seq == e.Seq {
			own = r
		}
	})
	w.again = func(language string) (reply *dialog.Reply) {
		fold(w.agent, w.agent.Open(), spokenIn(language, events), func(_ *Event, r *dialog.Reply) { reply = r })
		return reply
	}
	public := w.public(own, "", e.From)
	if public {
		w.passOn(e.Text)
	}
	if last == nil {
		return
	}
	if w.head == "" {
		w.head = "desk-order"
	}
	w.taken = parts(own, dialog.Heard)
	for _, h := range own.Understood.Hazards {
		w.alarm(AlarmHazard + AlarmKind(":"+h))
	}
	if hazard := parts(own, dialog.Safety); hazard != "" {
		for _, p := range append(w.readers(), w.answersAt()) {
			w.send(p, hazard)
		}
	}
	w.answered(before, last, e.From != dialog.Tech && empty(own), public)
	if e.From == dialog.Senior && w.job.Status == dialog.Confirmed && before.Status != dialog.Confirmed {
		w.add(Event{Kind: EventRuled, Person: w.person.ID, Verdict: VerdictConfirmed, Fault: w.job.Fault})
	}
	w.closes(before)
}

// headed begins the answer to a message that did not come in when it was sent: from when
// it is, and what was understood of it where the answer is to what was sent after it.
func (w *work) headed(r *dialog.Reply) *dialog.Reply {
	if w.head == "" {
		return r
	}
	head := w.agent.Words(r.Language).Phrases.Say(w.head, "at", w.moment(w.in.At))
	if w.taken != "" {
		head += "\n" + w.taken
	}
	return headed(r, head)
}

// openThen are those of a technician's jobs that were open when the message was sent. A
// late one goes by itself to no other: it is about another house.
func (w *work) openThen(jobs []*Job) []*Job {
	if !w.late() {
		return jobs
	}
	return slices.DeleteFunc(slices.Clone(jobs), func(j *Job) bool { return j.Began.Sub(w.in.At) > lateAfter })
}

// moment is when something was sent: the time of day, with the day when that is past.
func (w *work) moment(t time.Time) string {
	t = t.In(w.zone)
	if t.Format(time.DateOnly) != w.now.In(w.zone).Format(time.DateOnly) {
		return t.Format("2006-01-02 15:04")
	}
	return t.Format("15:04")
}
