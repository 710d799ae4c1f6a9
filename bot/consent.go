package bot

import (
	"cmp"
	"context"
	"time"

	"proveout/knowledge"
)

// stopped is the reason a message was given up because its reader wants none.
const stopped = "stopped"

// stopped says whether a message is for somebody who has said that he wants none.
func (o *outbox) stopped(m *Outbound) bool {
	return !m.Consent && o.desks.stopped(Key{m.Channel, cmp.Or(m.Conversation, m.To)})
}

// consent records one of the carriers' words and does what it asks. The answer to it
// goes out whatever he wants otherwise: carriers require it.
func (w *work) consent(context.Context) error {
	had := w.desks.stopped(Key{w.in.Channel, w.in.From})
	w.desk = append(w.desk, Event{Kind: EventConsent, Key: w.key(), Place: Place{w.in.Channel, w.in.From, ""}, Verdict: w.in.Action, Text: w.in.Text})
	var id string
	switch w.in.Action {
	case Stop:
		if had { // one confirmation is all he gets
			return nil
		}
		id = "consent-stop"
		if w.person != nil {
			w.notify(w.people.with(DispatcherRole), func(words *knowledge.Base) (string, []Button) {
				return words.Phrases.Say("consent-stopped", "who", w.person.Name, "channel", w.in.Channel), nil
			})
		}
	case Start:
		id = "consent-start"
	case Help:
		id = "consent-help"
	default:
		return &Error{Code: CodeInvalid, Text: "a consent says stop, start or help, not " + w.in.Action}
	}
	w.send(w.here(), w.toSender(id, "shop", w.config.Shop)).Consent = true
	return nil
}

// strangersConsent keeps the word of somebody nobody knows at a desk of his own, named
// by where he writes from.
func (s *Service) strangersConsent(ctx context.Context, in Inbound, now time.Time) error {
	desk := in.Channel + "/" + in.From
	unlock := s.locks.lock("@" + desk)
	defer unlock()
	var err error
	for range attempts {
		w := &work{Service: s, in: in, now: now, deskOf: desk}
		if err = w.consent(ctx); err == nil {
			err = w.commit(ctx)
		}
		if CodeOf(err) != CodeConflict {
			break
		}
	}
	if CodeOf(err) == CodeSeen {
		return s.learn(ctx)
	}
	return err
}
