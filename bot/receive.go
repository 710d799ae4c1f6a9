package bot

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/rs/zerolog"

	"proveout/dialog"
)

// attempts is how often a message is worked through anew when the record has moved
// on under it.
const attempts = 20

// Receive takes one event of a channel. When it returns without an error the event
// and its answer are in the record; a repeat changes nothing.
func (s *Service) Receive(ctx context.Context, in Inbound) error {
	if err := s.Ready(); err != nil {
		return err
	}
	if in.Channel == "" || in.ID == "" || in.From == "" && in.Kind != Receipt {
		return &Error{Code: CodeInvalid, Text: "a message needs its channel, its id there and its sender"}
	}
	began := s.Now()
	if in.At.IsZero() || in.At.After(began) { // a clock that is ahead
		in.At = began
	}
	err := s.receive(ctx, in, began)
	s.Metrics.received(in, err, s.Now().Sub(began))
	level := zerolog.InfoLevel
	if err != nil {
		level = zerolog.ErrorLevel
	}
	s.Log.WithLevel(level).Err(err).Str("correlation", in.Channel+"/"+in.ID).Str("kind", in.Kind).Dur("took", s.Now().Sub(began)).Msg("received")
	return err
}

func (s *Service) receive(ctx context.Context, in Inbound, now time.Time) error {
	if in.Kind == Receipt {
		return s.receipt(ctx, in)
	}
	if in.Kind == Said && s.out.echoes(&in) {
		return nil
	}
	person := s.people.is(in.Channel, in.From)
	if in.Channel == Web {
		if person == nil {
			_, err := s.viewer(in.From)
			return err
		}
		in.Conversation = person.ID
	}
	if over, err := s.flooded(ctx, in, person, now); over || err != nil {
		return err
	}
	if person == nil {
		return s.stranger(ctx, in, now)
	}
	unlock := s.locks.lock("@" + person.ID)
	defer unlock()
	if here := (Place{in.Channel, in.Conversation, in.Thread}); here.threaded() {
		// Two may begin to write there at once: it is one job.
		unlock := s.locks.lock(here.name())
		defer unlock()
	}
	var err error
	for step := int64(1); step < 1<<attempts; step *= 2 {
		if err := ctx.Err(); err != nil { // who brought it has hung up, and brings it again
			return err
		}
		err = s.once(ctx, in, person, now)
		switch CodeOf(err) {
		case CodeSeen:
			return s.learn(ctx)
		case CodeConflict:
			if c, ok := errors.AsType[*conflict](err); ok && c.fresh {
				s.next.Add(step - 1) // another job has the number: look further on
			}
			if err := s.catchUp(ctx, person.ID); err != nil {
				return err
			}
		default:
			return err
		}
	}
	return err
}

// once works an event through against the record as it stands.
func (s *Service) once(ctx context.Context, in Inbound, person *Person, now time.Time) error {
	// What he did last is asked for first: what is then found of his jobs is of no earlier.
	w := &work{Service: s, in: in, person: person, last: s.desks.of(person.ID).last, now: now, deskOf: person.ID}
	defer w.release()
	route, err := w.route(ctx)
	if err != nil {
		return err
	}
	if err := route(ctx); err != nil {
		return err
	}
	return w.commit(ctx)
}

// stranger answers somebody nobody knows with one polite line a day, and nothing of
// any job.
func (s *Service) stranger(ctx context.Context, in Inbound, now time.Time) error {
	s.Metrics.strangers.WithLabelValues(in.Channel).Inc()
	if in.Kind == Consent {
		return s.strangersConsent(ctx, in, now)
	}
	if in.Kind != Said && in.Kind != Pressed || !s.turned.tell(Key{in.Channel, in.From}, now) {
		return nil
	}
	w := &work{Service: s, in: in, now: now}
	w.send(w.here(), w.toSender("desk-stranger", "shop", s.config.Shop))
	err := w.commit(ctx)
	if CodeOf(err) == CodeSeen {
		return nil
	}
	return err
}

// conflict is a job that has moved on in the record; fresh: the number of a new one is
// taken.
type conflict struct {
	err   *Error
	fresh bool
}

// Error says what happened.
func (c *conflict) Error() string { return c.err.Error() }

// Unwrap gives the error with its code.
func (c *conflict) Unwrap() error { return c.err }

// work is one inbound event, or one tick of the clock, being worked through on one
// job.
type work struct {
	*Service
	in     Inbound
	person *Person // nil for the clock and for strangers
	last   Mark    // what he did last, as far as was known before anything was decided
	now    time.Time

	locked []func()
	after  int64 // where the stream stood
	job    *Job  // nil when no job is touched
	talk   *dialog.Job
	// again answers the message once more, in another language; nil when none is
	// answered.
	again  func(language string) *dialog.Reply
	events []Event
	out    []Outbound
	with   *Entry
	desk   []Event // of a person's own stream
	// head is the phrase an answer to what did not come in when it was sent begins with,
	// taken what was understood of it.
	head, taken string
	came        time.Time // when what is worked through now came in, where that was before
	deskOf      string    // whose: his id, or of somebody unknown his channel and identity
}

// release lets the locks go.
func (w *work) release() {
	for _, unlock := range w.locked {
		unlock()
	}
}

// take locks a job and reads it; it says whether there is one.
func (w *work) take(ctx context.Context, id string) (bool, error) {
	w.locked = append(w.locked, w.locks.lock(id))
	j, k, err := w.load(ctx, id)
	if err != nil || j == nil {
		return false, err
	}
	w.job, w.talk, w.after = j, k.talk, j.Seq
	return true, nil
}

// key is the event being worked through; zero for the clock.
func (w *work) key() Key {
	if w.in.ID == "" {
		return Key{}
	}
	return Key{w.in.Channel, w.in.ID}
}

// here is where the event came from; what answers there starts a thread where the
// channel has threads.
func (w *work) here() Place {
	p := Place{w.in.Channel, w.in.Conversation, w.in.Thread}
	if p.Thread == "" {
		p.Thread = w.in.Starts
	}
	return p
}

// add adds an event to the job.
func (w *work) add(e Event) {
	e.At, e.Knowledge, e.Key = w.now, w.version, w.key()
	e.Stream, e.Seq = w.stream(), w.after+int64(len(w.events))+1
	w.events = append(w.events, e)
	w.job = apply(w.job, &e)
}

func (w *work) stream() string {
	if w.job == nil {
		return ""
	}
	return w.job.ID
}

// send puts a message for a place into the outbox: for a job's thread elsewhere than
// where it began through the lane of that thread, for no place to the sender himself.
func (w *work) send(to Place, text string, buttons ...Button) *Outbound {
	m := Outbound{Channel: to.Channel, Conversation: to.Conversation, Thread: to.Thread, Text: text, Buttons: buttons}
	switch {
	case to.Conversation == "":
		m.To = w.in.From
	case w.job != nil && !w.job.Home.shared() && to == w.thread(w.job):
		m.Joins, m.Thread = true, ""
	}
	return w.post(m)
}

// post gives a message its name, which is the same whenever the same event is worked
// through, and puts it into the outbox.
func (w *work) post(m Outbound) *Outbound {
	switch n := len(w.out); {
	case w.in.ID != "":
		m.ID = fmt.Sprintf("%s/%s.%d", w.in.Channel, w.in.ID, n)
	default:
		m.ID = fmt.Sprintf("%s/%d.%d", w.stream(), w.after, n)
	}
	m.Job, m.At = w.stream(), w.now
	if m.Channel == Web { // pages are made of the record
		return &m
	}
	w.out = append(w.out, m)
	return &w.out[len(w.out)-1]
}

// commit puts everything into the record and then into the lists and the outbox.
func (w *work) commit(ctx context.Context) error {
	e := &Entry{Key: w.key(), At: w.now, Out: w.out}
	if len(w.desk) > 0 {
		stands := w.desks.of(w.deskOf)
		w.with = &Entry{Stream: "@" + w.deskOf, After: stands.seq, At: w.now, Events: w.desk}
		for i := range w.desk {
			e := &w.desk[i]
			if e.Stream, e.Seq, e.At = w.with.Stream, stands.seq+int64(i)+1, w.now; w.person != nil {
				e.Person = w.person.ID
			}
		}
	}
	if w.job != nil && len(w.events) > 0 {
		e.Stream, e.After, e.Events, e.Closed, e.Words = w.job.ID, w.after, w.events, !w.job.Open(), w.findable()
		var err error
		if e.Snapshot, err = newSnapshot(w.job, w.talk, w.version); err != nil {
			return err
		}
	}
	e.With = w.with
	if e.Stream == "" && e.With != nil {
		e.With.Key, e.With.Out = e.Key, e.Out
		e = e.With
	}
	if w.shared != nil && w.person != nil {
		e.Speaker, e.Since = w.person.ID, w.last
	}
	if err := w.store.Append(ctx, e); err != nil {
		return w.refused(ctx, err)
	}
	w.did(e)
	if len(w.events) > 0 {
		if err := w.table.put(w.job); err != nil {
			return err
		}
		w.talks.put(w.job.ID, kept{seq: w.job.Seq, talk: w.talk})
		w.changes.tell(w.job.ID)
		w.changes.tell("")
	}
	if len(w.desk) > 0 {
		w.desks.fold(w.deskOf, w.desk)
	}
	w.Metrics.recorded(w.events)
	w.Service.out.wrote(w.out)
	return nil
}

// refused reads again what has moved on in the record.
func (w *work) refused(ctx context.Context, err error) error {
	if CodeOf(err) != CodeConflict {
		return err
	}
	if len(w.desk) > 0 {
		if err := w.reread(ctx, "@"+w.deskOf); err != nil {
			return err
		}
	}
	if w.job == nil {
		return err
	}
	if err := w.reread(ctx, w.job.ID); err != nil {
		return err
	}
	return &conflict{err: &Error{Code: CodeConflict, Text: "the job has moved on", Err: err}, fresh: w.after == 0}
}
