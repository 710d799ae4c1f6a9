package bot

import (
	"slices"

	"proveout/dialog"
)

// Difference is an answer in the record that comes out otherwise when it is worked
// out again.
type Difference struct {
	Seq       int64
	Knowledge string // the version it was given by
	Recorded  string
	Now       string
	// Explained: it was given by other knowledge than there is now.
	Explained bool
}

// Replay works out every answer of a job again from what was said, as the agent did
// when it was said, and lists those that differ, with the number of answers. version
// is that of what the agent knows. The error's code is CodeForgotten where words were
// erased on request.
func Replay(agent *dialog.Agent, version string, events []Event) (differences []Difference, answers int, err error) {
	err = again(agent, events, func(e *Event, reply *dialog.Reply) {
		now := ""
		if reply != nil {
			now = reply.Text
		}
		if answers++; now != e.Text {
			differences = append(differences, Difference{e.Seq, e.Knowledge, e.Text, now, e.Knowledge != version})
		}
	})
	if err != nil {
		return nil, 0, err
	}
	return differences, answers, nil
}

// Retold works out every answer of a job again as it is said in a language, by the
// number of its event. The error's code is CodeForgotten where words were erased.
func Retold(agent *dialog.Agent, language string, events []Event) (map[int64]*dialog.Reply, error) {
	out := map[int64]*dialog.Reply{}
	err := again(agent, spokenIn(language, events), func(e *Event, reply *dialog.Reply) { out[e.Seq] = reply })
	return out, err
}

// spokenIn is a job's events with all of its talk in a language.
func spokenIn(language string, events []Event) []Event {
	out := slices.Clone(events)
	for i := range out {
		out[i].Language = language
	}
	return out
}

// again works out every answer anew; each sees it with its event. A reply is nil where
// nothing is answered now.
func again(agent *dialog.Agent, events []Event, each func(*Event, *dialog.Reply)) error {
	talk := agent.Open()
	var reply *dialog.Reply
	for i := range events {
		e := &events[i]
		if e.Forgotten {
			return &Error{Code: CodeForgotten, Text: "what was said on job " + e.Stream + " was erased on request, so nothing can be worked out from it"}
		}
		switch e.Kind {
		case EventOpened:
			talk = openTalk(agent, e)
		case EventSaid:
			if e.Before == 0 {
				talk, reply = turn(agent, talk, e)
				break
			}
			reply = nil
			talk = fold(agent, agent.Open(), events[:i+1], func(_ *Event, r *dialog.Reply) { reply = r })
		case EventEdited, EventDeleted:
			reply = nil
			talk = fold(agent, agent.Open(), events[:i+1], func(_ *Event, r *dialog.Reply) { reply = r })
			if reply != nil {
				amendedReply(agent, e.Kind, reply)
			}
		case EventAnswered:
			each(e, reply)
		default:
		}
	}
	return nil
}

// amendedReply begins the answer to an edit or a deletion.
func amendedReply(agent *dialog.Agent, k EventKind, r *dialog.Reply) {
	id := "desk-edited"
	if k == EventDeleted {
		id = "desk-deleted"
	}
	*r = *headed(r, agent.Words(r.Language).Phrases.Say(id))
}

// headed is a reply that begins with a line.
func headed(r *dialog.Reply, text string) *dialog.Reply {
	n := *r
	n.Text = text + "\n" + r.Text
	n.Lines = append([]dialog.Line{{Part: dialog.Heard, Text: text}}, r.Lines...)
	return &n
}
