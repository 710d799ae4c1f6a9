package bot

import (
	"context"
	"maps"
	"slices"
	"sync"

	"proveout/dialog"
	"proveout/dialog/understand"
)

// history is a job folded for whoever looks at it: every answer worked out again from
// what was said. It is of no language and of no viewer.
type history struct {
	job    *Job
	events []Event // as they were added
	talk   *dialog.Job
	turns  map[int64]turned // by the number of the event that was said
	// answers are, by the number of the agent's answer, that of what was said.
	answers map[int64]int64
	told    map[string]int64 // evidence → the number of the event that told it last
	newest  turned           // what was sent last did

	mu    sync.Mutex
	views map[string]*JobView // by language; what of a view is alike for every viewer
}

// turned is what a message said did.
type turned struct {
	told     understand.Utterance
	suspects []dialog.Suspect
	excluded []string
	fresh    []string // newly excluded
	status   string
	text     string
	lines    []Line
	progress bool
	ruled    bool // a senior said something of the call
}

// historiesKept is how many jobs' histories are kept at hand, for who looks at them.
const historiesKept = 64

// history gives a job's history as it stands in the record: from where the one at hand
// left off, or, where something said before was changed, from the beginning.
func (s *Service) history(ctx context.Context, id string) (*history, error) {
	unlock := s.looked.lock(id)
	defer unlock()
	if h, ok := s.histories.get(id); ok {
		if j := s.table.job(id); j != nil && j.Seq == h.job.Seq {
			return h, nil
		}
	}
	_, events, err := s.store.Read(ctx, id, true)
	if err != nil {
		return nil, err
	}
	if len(events) == 0 {
		return nil, &Error{Code: CodeNotFound, Text: "there is no job " + id}
	}
	h, _ := s.histories.get(id)
	if h == nil || len(h.events) > len(events) || changedLater(events[len(h.events):]) {
		h = &history{talk: s.agent.Open(), turns: map[int64]turned{}, told: map[string]int64{}}
	} else if len(h.events) == len(events) {
		return h, nil
	}
	h = h.with(s.agent, events)
	s.histories.put(id, h)
	return h, nil
}

// with is the history taken on to all of a job's events. h is not changed.
func (h *history) with(agent *dialog.Agent, events []Event) *history {
	n := &history{
		job: h.job, events: events, talk: h.talk,
		turns: maps.Clone(h.turns), answers: map[int64]int64{}, told: maps.Clone(h.told), views: map[string]*JobView{},
	}
	fresh := events[len(h.events):]
	for i := range fresh {
		n.job = apply(n.job, &fresh[i])
	}
	n.newest = h.newest
	n.talk = fold(agent, h.talk, fresh, func(e *Event, r *dialog.Reply) {
		n.newest = n.turn(e, r, &n.newest)
	})
	said := int64(0)
	for i := range events {
		switch e := &events[i]; e.Kind {
		case EventSaid:
			if said = e.Seq; e.Before != 0 {
				said = 0 // as with an edit
			}
		case EventEdited, EventDeleted:
			said = 0 // its answer is of everything before
		case EventAnswered:
			if said != 0 {
				n.answers[e.Seq] = said
			}
		default:
		}
	}
	return n
}

// turn notes what a message said did.
func (h *history) turn(e *Event, r *dialog.Reply, before *turned) turned {
	now := turned{suspects: r.Suspects, status: r.Status, text: r.Text, lines: r.Lines}
	if r.Status == dialog.Verifying || r.Status == dialog.Closed { // the engine does not lead
		now.suspects = before.suspects
	}
	for _, x := range r.RuledOut {
		now.excluded = append(now.excluded, x.Fault)
		if !slices.Contains(before.excluded, x.Fault) {
			now.fresh = append(now.fresh, x.Fault)
		}
	}
	now.told = dialog.Heed(e.From, r.Understood)
	now.ruled = e.From == dialog.Senior && slices.ContainsFunc(now.told.Intents, func(i string) bool { return i == "override" || i == "confirm" })
	now.progress = len(now.fresh) > 0 || now.status != before.status || moved(before.suspects, now.suspects)
	for i := range now.told.Readings {
		h.told[string(now.told.Readings[i].Reading)] = e.Seq
	}
	for _, o := range now.told.Observations {
		h.told[o.Subject] = e.Seq
	}
	h.turns[e.Seq] = now
	return now
}

// moved says whether the suspects stand otherwise than before.
func moved(before, now []dialog.Suspect) bool {
	return !slices.EqualFunc(before, now, func(a, b dialog.Suspect) bool {
		return a.Fault == b.Fault && max(a.Probability-b.Probability, b.Probability-a.Probability) < 0.02
	})
}
