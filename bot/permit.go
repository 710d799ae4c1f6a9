package bot

import (
	"slices"

	"proveout/dialog"
	"proveout/knowledge"
)

// Act is something a person may do with a job. Ask it by pressing: an Inbound's Action
// is the act, a colon and the job, then what the act needs, as in "slot:J-1001:…".
type Act string

// The acts. ActSay is writing into a job's thread, which is said and not pressed, and
// ActOpen beginning a job.
const (
	ActOpen     Act = "open"
	ActSay      Act = "say"
	ActConfirm  Act = "confirm"
	ActOverrule Act = "overrule" // of what it is instead, a fault's id
	ActMore     Act = "more"     // what is to be read first
	ActTake     Act = "take"
	ActReturn   Act = "return"
	ActSnooze   Act = "snooze" // for how many minutes
	ActAssign   Act = "assign" // to whom, a senior's id; to nobody
	ActSlot     Act = "slot"   // until when, as RFC 3339 writes it; nothing for none
)

// permitted are the acts of each role. Whoever acts without is refused, whatever page
// or channel he found the way in by.
func permitted() map[Role][]Act {
	office := []Act{ActSay, ActSnooze, ActAssign, ActSlot}
	return map[Role][]Act{
		TechnicianRole: {ActOpen, ActSay},
		SeniorRole:     {ActOpen, ActSay, ActConfirm, ActOverrule, ActMore, ActTake, ActReturn, ActSnooze},
		DispatcherRole: office,
		OwnerRole:      office,
	}
}

// Acts lists every act.
func Acts() []Act {
	return []Act{ActOpen, ActSay, ActConfirm, ActOverrule, ActMore, ActTake, ActReturn, ActSnooze, ActAssign, ActSlot}
}

// May says whether a person of a role may do a thing to some job.
func May(r Role, a Act) bool { return slices.Contains(permitted()[r], a) }

// possible says whether a job is where an act can be done to it.
func (j *Job) possible(a Act) bool {
	switch a {
	case ActConfirm:
		return j.Status == dialog.Proposed || j.Status == dialog.Repairing
	case ActOverrule:
		return j.Called
	case ActMore:
		return j.Status == dialog.Proposed
	case ActTake:
		return j.Taken == ""
	case ActReturn:
		return j.Taken != ""
	default:
		return true
	}
}

// actions are what a person may press on an open job now.
func (s *Service) actions(p *Person, j *Job, words *knowledge.Base) []Button {
	var out []Button
	for _, a := range Acts() {
		if a == ActOpen || a == ActSay || !j.Open() || !May(p.Role, a) || !j.possible(a) || s.own(p, j) && a.rules() {
			continue
		}
		out = append(out, Button{Action: string(a) + ":" + j.ID, Label: words.Phrases.Say("button-" + string(a)), Danger: a == ActOverrule})
	}
	return out
}

// rules says whether an act is a senior's word on a call.
func (a Act) rules() bool { return a == ActConfirm || a == ActOverrule || a == ActMore }

// own says whether a job is a person's own to measure and so not his to rule on, unless
// the shop lets him.
func (s *Service) own(p *Person, j *Job) bool {
	return j.Technician == p.ID && !s.config.Policy.Confirm.OwnCalls
}
