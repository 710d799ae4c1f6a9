package bot

import (
	"slices"

	"proveout/dialog"
)

// openTalk is a talk as an opened job begins it: what the technician does not carry
// is not asked for.
func openTalk(agent *dialog.Agent, opened *Event) *dialog.Job {
	talk := agent.OpenIn(opened.Language)
	for _, tool := range opened.Lacks {
		talk.Situation.Lacks[tool] = true
	}
	return talk
}

// fold takes a talk through events: what was said, as it was last edited, in the order
// it was sent. It is the whole of what a job's state depends on. each, when not nil, sees every answer with
// the event that asked for it.
func fold(agent *dialog.Agent, talk *dialog.Job, events []Event, each func(*Event, *dialog.Reply)) *dialog.Job {
	for _, e := range asSaid(events) {
		switch e.Kind {
		case EventOpened:
			talk = openTalk(agent, &e)
		case EventSaid:
			var reply *dialog.Reply
			talk, reply = turn(agent, talk, &e)
			if reply != nil && each != nil {
				each(&e, reply)
			}
		default:
		}
	}
	return talk
}

// turn takes a talk through one thing said; without words nothing is said.
func turn(agent *dialog.Agent, talk *dialog.Job, e *Event) (*dialog.Job, *dialog.Reply) {
	if e.Text == "" {
		return talk, nil
	}
	next, reply := agent.Turn(talk, dialog.Message{From: e.From, Name: e.Name, Text: e.Text, Language: e.Language})
	return next.Kept(), reply
}

// asSaid is what was said with every edit and deletion carried out, and what came late
// in its place.
func asSaid(events []Event) []Event {
	if !changedLater(events) {
		return events
	}
	out := make([]Event, 0, len(events))
	for _, e := range events {
		if e.Kind != EventEdited && e.Kind != EventDeleted {
			at := len(out)
			if i := slices.IndexFunc(out, func(o Event) bool { return o.Seq == e.Before }); i >= 0 {
				at = i
			}
			out = slices.Insert(out, at, e)
			continue
		}
		at := slices.IndexFunc(out, func(o Event) bool {
			return o.Kind == EventSaid && o.Key.Channel == e.Key.Channel && o.Key.ID == e.Of && o.Person == e.Person
		})
		if at >= 0 {
			out[at].Text = e.Text // nothing, for a deletion
		}
	}
	return out
}

// changedLater says whether events change what those before them came to.
func changedLater(events []Event) bool {
	return slices.ContainsFunc(events, func(e Event) bool { return e.Kind == EventEdited || e.Kind == EventDeleted || e.Before != 0 })
}

// answerOf is what the record keeps of a reply.
func answerOf(before *Job, r *dialog.Reply) *Answer {
	a := &Answer{Status: r.Status, Language: r.Language, RuledOut: len(r.RuledOut)}
	u := &r.Understood
	a.Readings = len(u.Readings) + len(u.Observations) + len(u.Facts)
	a.Hazard = len(u.Hazards) > 0
	if r.Ask != nil {
		a.Asked = string(r.Ask.Reading) + r.Ask.Observation + r.Ask.Fact
	}
	if len(r.Suspects) > 0 {
		a.Fault, a.Probability = r.Suspects[0].Fault, r.Suspects[0].Probability
	}
	if r.Call != nil {
		a.Fault, a.Called, a.Probability = r.Call.Fault, true, probability(r, r.Call.Fault)
		a.Proof, a.Repair = r.Call.Proof, r.Call.Repair
	}
	a.Progress = a.Readings > 0 && (before == nil || a.Called && !before.Called || a.Status != before.Status ||
		a.RuledOut > before.RuledOut || a.Fault != before.Fault || a.Probability > before.Probability+0.02)
	return a
}

func probability(r *dialog.Reply, fault string) float64 {
	for _, s := range r.Suspects {
		if s.Fault == fault {
			return s.Probability
		}
	}
	return 0
}

// empty says whether a message told the agent nothing it has anything to do with.
func empty(r *dialog.Reply) bool {
	u := &r.Understood
	return len(u.Readings)+len(u.Observations)+len(u.Facts)+len(u.Unclear)+len(u.Intents)+len(u.Hazards) == 0
}

// chat says whether a message is not about any machine: no reason to open a job.
func chat(r *dialog.Reply) bool {
	u := &r.Understood
	if len(u.Readings)+len(u.Observations)+len(u.Facts)+len(u.Hazards) > 0 {
		return false
	}
	return !slices.ContainsFunc(u.Intents, func(i string) bool {
		return i == "open-job" || i == "report-done" || i == "request-senior"
	})
}
