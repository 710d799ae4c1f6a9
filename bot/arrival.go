package bot

import (
	"cmp"
	"context"
	"slices"
	"sync"
	"time"

	"proveout/knowledge"
)

// Undelivered is a message that did not reach whom it was for.
type Undelivered struct {
	ID     string // Outbound.ID
	Job    string // empty when it was about none
	Person string // the id of whom it was for; empty for a room or somebody unknown
	To     string // his name, or the room, or the end of a number
	At     time.Time
	Reason string // the channel's words, or the gateway's
}

// ofConcern is how long what was about no job and did not arrive is shown.
const ofConcern = 24 * time.Hour

// Undelivered lists what could not be delivered and is still of concern, oldest first:
// on open jobs until it arrives after all, and for a day what was about no job.
func (s *Service) Undelivered() []Undelivered {
	var out []Undelivered
	for j := range s.table.everyone() {
		out = append(out, j.Undelivered...)
	}
	for _, u := range s.desks.undelivered() {
		if s.Now().Sub(u.At) < ofConcern {
			out = append(out, u)
		}
	}
	slices.SortFunc(out, func(a, b Undelivered) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.ID, b.ID)) })
	for i := range out {
		if out[i].Person != "" {
			out[i].To = s.people.name(out[i].Person)
		}
	}
	return out
}

// failing is a list of what was not delivered after one more event.
func failing(list []Undelivered, e *Event) []Undelivered {
	list = slices.DeleteFunc(slices.Clone(list), func(u Undelivered) bool {
		return u.ID == e.Of || u.Job == "" && e.At.Sub(u.At) >= ofConcern
	})
	if e.Kind == EventDead {
		u := Undelivered{ID: e.Of, Person: e.For, To: Masked(e.Place.Conversation), At: e.At, Reason: e.Text}
		if e.Stream[0] != '@' {
			u.Job = e.Stream
		}
		list = append(list, u)
	}
	return list
}

// The keys under which it is noted, once for each message, that it did not arrive, and
// that it did after all.
const (
	deadChannel    = "undelivered"
	arrivedChannel = "arrived"
)

// undelivered notes that a message did not reach whom it was for, on its job or else on
// his own stream, and tells the dispatchers, once; say is how. A notice that cannot be
// delivered itself is only noted.
func (s *Service) undelivered(ctx context.Context, m *Outbound, reason string, say notice) error {
	return s.note(ctx, m, Key{deadChannel, m.ID}, Event{Kind: EventDead, Text: reason}, say)
}

// arrived notes that a message is there after all; of most that are nothing was said.
func (s *Service) arrived(ctx context.Context, m *Outbound) error {
	failed := s.desks.undelivered()
	if m.Job != "" {
		j := s.table.job(m.Job)
		if j == nil {
			return nil
		}
		failed = j.Undelivered
	}
	if !slices.ContainsFunc(failed, func(u Undelivered) bool { return u.ID == m.ID }) {
		return nil
	}
	return s.note(ctx, m, Key{arrivedChannel, m.ID}, Event{Kind: EventArrived}, nil)
}

// note writes what became of a message.
func (s *Service) note(ctx context.Context, m *Outbound, key Key, e Event, say notice) error {
	to := s.people.is(m.Channel, cmp.Or(m.Conversation, m.To))
	e.Of, e.Place = m.ID, Place{m.Channel, cmp.Or(m.Conversation, m.To), m.Thread}
	if to != nil {
		e.For = to.ID
		e.Place.Conversation = "" // his number stands in the configuration
	}
	return s.aside(ctx, Inbound{Channel: key.Channel, ID: key.ID}, m.Job, to, func(w *work) {
		switch {
		case w.job != nil:
			w.add(e)
		case to != nil:
			w.desk = append(w.desk, e)
		}
		if say != nil && !noticeOfDead(m.ID) {
			w.notify(s.people.with(DispatcherRole), say)
		}
	})
}

// aside does something that no message caused, once under its key: on a job, if it is
// there, or at a person's desk.
func (s *Service) aside(ctx context.Context, in Inbound, job string, at *Person, do func(*work)) error {
	if at != nil {
		unlock := s.locks.lock("@" + at.ID)
		defer unlock()
	}
	once := func() error {
		w := &work{Service: s, in: in, now: s.Now()}
		defer w.release()
		if job != "" {
			if _, err := w.take(ctx, job); err != nil {
				return err
			}
		}
		if w.job == nil && at != nil {
			w.deskOf = at.ID
		}
		do(w)
		return w.commit(ctx)
	}
	var err error
	for range attempts {
		if err = once(); CodeOf(err) != CodeConflict {
			break
		}
	}
	if CodeOf(err) == CodeSeen {
		return nil
	}
	return err
}

// noticeOfDead says whether a message tells of another that was not delivered.
func noticeOfDead(id string) bool {
	const begins = deadChannel + "/"
	return len(id) > len(begins) && id[:len(begins)] == begins
}

// dead notes that a message was given up.
func (o *outbox) dead(ctx context.Context, m *Outbound, d Delivery) {
	o.note(ctx, d)
	say := func(words *knowledge.Base) (string, []Button) {
		return words.Phrases.Count("desk-undelivered", d.Attempts, "channel", m.Channel, "reason", words.Phrases.Or("reason-"+d.Dead, d.Dead), "text", short(m.Text)), nil
	}
	if d.Dead == stopped { // that he said so was told
		say = nil
	}
	if err := o.undelivered(context.WithoutCancel(ctx), m, d.Dead, say); err != nil {
		o.Log.Error().Err(err).Str("correlation", m.ID).Msg("telling of a message given up")
	}
}

// receipt takes what a channel says became of a message.
func (s *Service) receipt(ctx context.Context, in Inbound) error {
	m, err := s.store.Sent(ctx, in.Channel, in.Of)
	if err != nil {
		return err
	}
	if m == nil {
		s.early.put(in, s.Now())
		// It may have been noted as delivered in between.
		if m, err = s.store.Sent(ctx, in.Channel, in.Of); err != nil || m == nil {
			return err
		}
		s.early.take(Key{in.Channel, in.Of})
	}
	return s.received(ctx, m, in)
}

func (s *Service) received(ctx context.Context, m *Outbound, in Inbound) error {
	if in.Action == Arrived {
		return s.arrived(ctx, m)
	}
	return s.undelivered(ctx, m, cmp.Or(in.Text, in.Action), func(words *knowledge.Base) (string, []Button) {
		who := Masked(cmp.Or(m.Conversation, m.To))
		if p := s.people.is(m.Channel, cmp.Or(m.Conversation, m.To)); p != nil {
			who = p.Name
		}
		return words.Phrases.Say("desk-not-arrived", "who", who, "reason", cmp.Or(in.Text, in.Action), "text", short(m.Text)), nil
	})
}

// early are receipts that came before the delivery they are about was noted: a gateway
// may be quicker than its own answer. Of more than earlyKept some are forgotten, since
// of messages that are not ours any number may come.
type early struct {
	mu sync.Mutex
	by map[Key]arrived
}

// arrived is a receipt and when it came.
type arrived struct {
	Inbound
	at time.Time
}

const earlyKept = 1000

func (e *early) put(in Inbound, now time.Time) {
	e.mu.Lock()
	defer e.mu.Unlock()
	if e.by == nil {
		e.by = map[Key]arrived{}
	}
	for k := range e.by {
		if len(e.by) < earlyKept {
			break
		}
		delete(e.by, k)
	}
	e.by[Key{in.Channel, in.Of}] = arrived{in, now}
}

// since lists those that came since a time.
func (e *early) since(from time.Time) []Inbound {
	e.mu.Lock()
	defer e.mu.Unlock()
	var out []Inbound
	for _, a := range e.by {
		if a.at.After(from) {
			out = append(out, a.Inbound)
		}
	}
	return out
}

func (e *early) take(k Key) (Inbound, bool) {
	e.mu.Lock()
	defer e.mu.Unlock()
	a, ok := e.by[k]
	delete(e.by, k)
	return a.Inbound, ok
}
