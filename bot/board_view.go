package bot

import (
	"cmp"
	"slices"
	"time"

	"proveout/knowledge"
)

// Board is the open jobs as a page shows them to one person: to a technician his own,
// to others every one, who is stuck longest first.
type Board struct {
	Viewer Member
	At     time.Time
	Jobs   []Row
	// Undelivered is what did not reach whom it was for; nothing for a technician.
	Undelivered []Undelivered
	// Seniors are those a job may be given to.
	Seniors []Member
}

// Member is one of the shop's people as a page shows him.
type Member struct {
	ID, Name string
	Role     Role
}

// Row is an open job on the board.
type Row struct {
	Job        string
	Title      string // how the job was reported, short
	Complaint  string // in full
	Technician Member
	Status     string // measuring, proposed, …
	StatusText string // in words
	// Stuck is the minutes since the job last got anywhere, SinceReading those since
	// something was last read or seen, Open those since it began.
	Stuck, SinceReading, Open int
	// Leading is the plain name of the call, or of the suspect that leads; empty
	// before anything is known.
	Leading     string
	Fault       string // its id
	Probability float64
	Called      bool // it is a call
	Part        string
	// ToCall is the minutes of measuring expected until a call, by the engine's own
	// questions, answered at once; negative for a job that is not being measured, for one
	// not among those stuck longest, and until it is worked out, which is told as a change.
	ToCall float64
	// Waits is for whom: a technician, a senior or a dispatcher.
	Waits Role
	// Slot is when the job has to be done by; zero where nobody has said. Senior is who
	// was given it; zero for nobody.
	Slot   time.Time
	Senior Member
	// Taken is the senior who has its thread; zero for nobody.
	Taken   Member
	Alarms  []Alarm
	Snoozed time.Time // alarms are silent until then
	// Undelivered is what was said of it and did not reach whom it was for.
	Undelivered []Undelivered
	Actions     []Button // what the viewer may press

	job *Job
}

// Alarm is an alarm that was given and still stands.
type Alarm struct {
	Kind AlarmKind
	Text string
	At   time.Time
}

// Board gives the open jobs a person may see, by his id. CodeForbidden where nobody of
// the shop has the id.
func (s *Service) Board(viewer string) (*Board, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return nil, err
	}
	words := s.agent.Words(s.reads(p, ""))
	out := &Board{Viewer: member(p), At: s.Now(), Seniors: s.members(SeniorRole)}
	for j := range s.table.everyone() {
		if maySee(p, j) {
			out.Jobs = append(out.Jobs, s.row(p, j, words, out.At))
		}
	}
	if p.Role != TechnicianRole {
		out.Undelivered = s.Undelivered()
	}
	slices.SortStableFunc(out.Jobs, func(a, b Row) int { return cmp.Or(cmp.Compare(b.Stuck, a.Stuck), cmp.Compare(a.Job, b.Job)) })
	for i := range out.Jobs {
		if r := &out.Jobs[i]; i < foresightRows {
			r.ToCall = s.foresight.minutes(r.job)
		}
	}
	return out, nil
}

func (s *Service) row(p *Person, j *Job, words *knowledge.Base, now time.Time) Row {
	since := func(t time.Time) int { return int(now.Sub(t).Round(time.Minute) / time.Minute) }
	r := Row{
		Job: j.ID, Title: j.Title, Complaint: cmp.Or(j.Complaint, j.Title), Technician: s.member(j.Technician),
		Status: j.Status, StatusText: words.Phrases.Say("status-" + j.Status),
		Stuck: since(j.stuckSince()), SinceReading: since(j.LastReading), Open: since(j.Opened),
		Fault: j.Fault, Probability: j.Probability, Called: j.Called, ToCall: -1, job: j,
		Waits: j.waitsFor(), Slot: j.Slot, Senior: s.member(j.Senior), Taken: s.member(j.Taken), Snoozed: j.Snoozed,
		Alarms: alarms(j, words, now), Actions: s.actions(p, j, words),
	}
	if p.Role != TechnicianRole {
		r.Undelivered = j.Undelivered
	}
	if fault := cmp.Or(j.Fault, j.Cause); fault != "" {
		r.Leading, r.Part = words.FaultName(fault), partFor(words, fault)
	}
	return r
}

// alarms lists those that were given and not answered since, the oldest first.
func alarms(j *Job, words *knowledge.Base, now time.Time) []Alarm {
	var out []Alarm
	for k, at := range j.Alarmed {
		out = append(out, Alarm{k, sayWhy(words, j, k, now), at})
	}
	slices.SortFunc(out, func(a, b Alarm) int { return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Kind, b.Kind)) })
	return out
}

// stuckSince is when a job last got anywhere.
func (j *Job) stuckSince() time.Time {
	switch {
	case !j.WaitingSince.IsZero():
		return j.WaitingSince
	case !j.Moved.IsZero():
		return j.Moved
	}
	return j.Opened
}

// waitsFor is whose turn it is.
func (j *Job) waitsFor() Role {
	_, senior := j.Alarmed[AlarmSenior]
	_, late := j.Alarmed[AlarmSlot]
	switch {
	case !j.WaitingSince.IsZero(), j.Taken != "", senior:
		return SeniorRole
	case late, len(j.Undelivered) > 0:
		return DispatcherRole
	}
	return TechnicianRole
}

// partFor is what has to be sent for a fault; empty where nothing has.
func partFor(words *knowledge.Base, fault string) string {
	if f := words.Faults[fault]; f != nil {
		return f.Part
	}
	return ""
}
