package bot

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"proveout/dialog"
	"proveout/knowledge"
)

// courses is how many suspects a chart shows.
const courses = 5

// JobView gives a job, open or closed, as a person looks at it. CodeNotFound,
// CodeForbidden.
func (s *Service) JobView(ctx context.Context, viewer, job string) (*JobView, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return nil, err
	}
	h, err := s.seen(ctx, p, job)
	if err != nil {
		return nil, err
	}
	words := s.agent.Words(s.reads(p, h.talk.Language()))
	v := *s.view(h, words)
	v.Viewer = member(p)
	v.Row = s.row(p, h.job, words, s.Now())
	v.ToCall = s.foresight.minutes(h.job)
	return &v, nil
}

// seen is a job's history, for one who may see it.
func (s *Service) seen(ctx context.Context, p *Person, job string) (*history, error) {
	h, err := s.history(ctx, job)
	if err != nil {
		return nil, err
	}
	if !maySee(p, h.job) {
		return nil, &Error{Code: CodeForbidden, Text: "job " + job + " is another technician's"}
	}
	return h, nil
}

// view is what of a view is alike for everybody who reads a language, worked out once.
func (s *Service) view(h *history, words *knowledge.Base) *JobView {
	h.mu.Lock()
	defer h.mu.Unlock()
	if v := h.views[words.Language]; v != nil {
		return v
	}
	agent := s.agent.In(words.Language)
	l := look{s, h, agent, words, agent.Standing(h.talk)}
	j := h.job
	v := &JobView{
		Version: fmt.Sprintf("%s.%d.%s", j.ID, j.Seq, words.Language), Language: words.Language, Open: j.Open(), Opened: j.Opened, Closed: j.ClosedAt,
		Talk: l.conversation(), Steps: l.steps(), Timeline: l.timeline(), Proven: j.Proven,
		Suspects: l.suspects(), Excluded: l.excluded(), Evidence: l.evidence(), Facts: l.standing.Facts, Missing: l.standing.Missing,
		Next: l.next(), Call: l.call(), Gauges: l.gauges(), Charge: l.standing.Charge, Checks: l.checks(), Cautions: l.cautions(),
	}
	v.Chart = l.chart(v.Steps)
	h.views[words.Language] = v
	return v
}

// look is a history being put into words.
type look struct {
	*Service
	*history
	agent    *dialog.Agent // that speaks the reader's language
	words    *knowledge.Base
	standing *dialog.Standing
}

func (l *look) share(fault string, p float64) Share {
	return Share{fault, l.short(fault), p}
}

// short is a fault's name in a list.
func (l *look) short(fault string) string {
	if f := l.words.Faults[fault]; f != nil && f.Short != "" {
		return f.Short
	}
	return l.words.FaultName(fault)
}

// role is a sender's when he wrote: the talk knows him as it took him.
func role(e *Event, p *Person) Role {
	switch {
	case e.Person == "":
		return ""
	case p != nil:
		return p.Role
	case e.From == dialog.Senior:
		return SeniorRole
	case e.From == dialog.Dispatcher:
		return DispatcherRole
	}
	return TechnicianRole
}

func (l *look) conversation() []Spoken {
	var out []Spoken
	for i := range l.events {
		e := &l.events[i]
		m := Spoken{Seq: e.Seq, At: e.sent(), Late: e.Before != 0, Who: l.member(e.Person), Role: role(e, l.people.by[e.Person]), Channel: e.Place.Channel, Key: e.Key, Text: e.Text, Files: e.Files, Forgotten: e.Forgotten}
		switch e.Kind {
		case EventSaid:
			if e.Name != "" {
				m.Who.Name = e.Name
			}
			if m.Text == "" && len(m.Files) == 0 && !m.Forgotten {
				continue // a button or a command: the timeline has it
			}
		case EventAnswered:
			m.Silent = e.Reply.Silent
			if t, ok := l.turns[l.answers[e.Seq]]; ok && t.text == e.Text {
				m.Lines = t.lines
			}
		case EventEdited, EventDeleted:
			l.amend(out, e)
			continue
		default:
			continue
		}
		out = append(out, m)
	}
	return out
}

// amend carries an edit or a deletion out on what was said before.
func (l *look) amend(said []Spoken, e *Event) {
	for i := range slices.Backward(said) {
		m := &said[i]
		if m.Key == (Key{e.Key.Channel, e.Of}) && m.Who.ID == e.Person {
			m.Text, m.Edited, m.Deleted = e.Text, e.Kind == EventEdited, e.Kind == EventDeleted
			return
		}
	}
}

// steps are the messages that told something.
func (l *look) steps() []Step {
	var out []Step
	said := asSaid(l.events)
	for i := range said {
		e := &said[i]
		t, ok := l.turns[e.Seq]
		if !ok {
			continue
		}
		told := l.agent.Told(&t.told)
		if len(told) == 0 && !t.ruled {
			continue
		}
		step := Step{Seq: e.Seq, At: e.sent(), Who: l.member(e.Person), Told: told, Status: t.status, Progress: t.progress}
		for _, x := range t.suspects {
			step.Suspects = append(step.Suspects, l.share(x.Fault, x.Probability))
		}
		for _, fault := range l.byWeight(t.fresh) {
			step.RuledOut = append(step.RuledOut, l.short(fault))
		}
		out = append(out, step)
	}
	return out
}

// byWeight orders faults by how common they are.
func (s *Service) byWeight(faults []string) []string {
	out := slices.DeleteFunc(slices.Clone(faults), func(f string) bool { return s.base.Faults[f] == nil })
	slices.SortStableFunc(out, func(a, b string) int {
		return int(math.Copysign(1, s.base.Faults[b].Weight-s.base.Faults[a].Weight))
	})
	return out
}

// chart follows the suspects that led at some step, those that stand highest now first.
func (l *look) chart(steps []Step) []Course {
	most := map[string]float64{}
	for i := range steps {
		for _, x := range steps[i].Suspects {
			most[x.Fault] = max(most[x.Fault], x.Probability)
		}
	}
	faults := sortedKeys(most)
	last := func(f string) float64 { return probabilityAt(steps, len(steps)-1, f) }
	slices.SortStableFunc(faults, func(a, b string) int {
		if x, y := last(a), last(b); x != y {
			return int(math.Copysign(1, y-x))
		}
		return int(math.Copysign(1, most[b]-most[a]))
	})
	var out []Course
	for _, f := range faults[:min(courses, len(faults))] {
		c := Course{Fault: f, Name: l.share(f, 0).Name}
		for i := range steps {
			c.Points = append(c.Points, probabilityAt(steps, i, f))
		}
		out = append(out, c)
	}
	return out
}

func probabilityAt(steps []Step, at int, fault string) float64 {
	for _, x := range steps[at].Suspects {
		if x.Fault == fault {
			return x.Probability
		}
	}
	return 0
}

func (l *look) timeline() []Happens {
	var out []Happens
	for i := range l.events {
		e := &l.events[i]
		if text := Happened(l.words, l.zone, l.people.name, l.events[:i], e); text != "" {
			out = append(out, Happens{e.Seq, e.At, l.member(e.Person), e.Kind, text})
		}
	}
	return out
}

// Happened says what an event did to a job, in words; empty for what the talk itself
// shows. before is what came before it; names gives people's by their ids, and times of
// day are those of a zone.
func Happened(words *knowledge.Base, zone *time.Location, names func(string) string, before []Event, e *Event) string {
	say, name := words.Phrases.Say, words.FaultName
	switch e.Kind {
	case EventOpened:
		return say("page-opened")
	case EventAnswered:
		if e.Reply.Proposes {
			return say("page-proposed", "fault", name(e.Reply.Fault))
		}
		return ""
	case EventRuled:
		return say("page-ruled-"+strings.ReplaceAll(e.Verdict, " ", "-"), "fault", name(e.Fault), "what", cmp.Or(e.Text, "…"))
	case EventTaken:
		return say("page-taken")
	case EventReturned:
		return say("page-returned")
	case EventAlarm:
		var j *Job
		for i := range before {
			j = apply(j, &before[i])
		}
		return say("page-alarm", "what", sayWhy(words, j, e.Alarm, e.At))
	case EventAssigned:
		if e.To == "" {
			return say("page-unassigned")
		}
		return say("page-assigned", "who", names(e.To))
	case EventSlot:
		if e.Until.IsZero() {
			return say("page-no-slot")
		}
		return say("page-slot", "until", e.Until.In(zone).Format("15:04"))
	case EventSnoozed:
		return say("page-snoozed", "until", e.Until.In(zone).Format("15:04"))
	case EventClosed:
		if e.Verdict == ClosedProven {
			return say("page-closed-proven", "fault", name(e.Fault))
		}
		return say("page-closed")
	default:
		return ""
	}
}

func (l *look) suspects() []SuspectView {
	out := make([]SuspectView, 0, len(l.standing.Suspects))
	for _, x := range l.standing.Suspects {
		out = append(out, SuspectView{l.share(x.Fault, x.Probability), l.words.FaultName(x.Fault), partFor(l.words, x.Fault), x.Because})
	}
	return out
}

func (l *look) excluded() []ExcludedView {
	by := map[string]string{}
	var faults []string
	for _, x := range l.standing.RuledOut {
		by[x.Fault] = x.Because
		faults = append(faults, x.Fault)
	}
	var out []ExcludedView
	for _, fault := range l.byWeight(faults) {
		out = append(out, ExcludedView{fault, l.short(fault), by[fault]})
	}
	return out
}

func (l *look) evidence() []EvidenceView {
	out := make([]EvidenceView, 0, len(l.standing.Evidence))
	for i := range l.standing.Evidence {
		e := &l.standing.Evidence[i]
		v := EvidenceView{Reading: string(e.Reading), Observation: e.Observation, Seen: e.Seen, State: e.State, Value: e.Value, Text: e.Text, Odd: e.Odd}
		if q := l.base.Quantities[e.Reading.Quantity()]; q != nil {
			v.Unit = q.Unit
		}
		if !e.Made {
			v.Seq = l.told[v.Reading+v.Observation]
		}
		out = append(out, v)
	}
	return out
}

func (l *look) next() *NextView {
	a := l.standing.Ask
	if a == nil {
		return nil
	}
	n := &NextView{
		Reading: string(a.Reading), Observation: a.Observation, Fact: a.Fact, State: a.State, Why: a.Why,
		Ask: l.standing.Said(dialog.Next), How: l.standing.Said(dialog.How), Cautions: l.cautions(), Buttons: l.usual(a, l.words),
	}
	for _, m := range l.standing.Answers {
		n.Answers = append(n.Answers, AnswerView(m))
	}
	return n
}

func (l *look) cautions() []string {
	var out []string
	for _, line := range l.standing.Lines {
		if line.Part == dialog.Caution || line.Part == dialog.Safety {
			out = append(out, line.Text)
		}
	}
	return out
}

func (l *look) call() *CallView {
	c := l.standing.Call
	if c == nil {
		return nil
	}
	v := &CallView{
		Share: l.share(c.Fault, l.job.Probability), FullName: l.words.FaultName(c.Fault), Part: partFor(l.words, c.Fault),
		Proof: c.Proof, Needs: c.NeedsConfirmation && l.job.ConfirmedBy == "", By: l.member(l.job.ConfirmedBy),
	}
	for _, line := range l.standing.Lines {
		if line.Part == dialog.Next {
			v.Text = append(v.Text, line.Text)
		}
	}
	return v
}

func (l *look) gauges() []Gauge {
	beside := map[knowledge.ReadingID]dialog.Measured{}
	for _, m := range l.standing.Measured {
		beside[m.Reading] = m
	}
	var out []Gauge
	for i := range l.standing.Evidence {
		e := &l.standing.Evidence[i]
		m := l.base.Measurements[e.Reading]
		q := e.Reading.Quantity()
		if m == nil || !m.Process && m.From == nil {
			continue
		}
		g := Gauge{
			Reading: string(e.Reading), Name: l.agent.Row(e.Reading), Quantity: q, Value: e.Value, Unit: l.unit(q),
			Text: l.agent.Figure(q, e.Value), Standing: e.State == knowledge.Standing,
		}
		if !math.IsNaN(e.Saturation) {
			g.Saturation = &e.Saturation
		}
		if c, ok := beside[e.Reading]; ok && !g.Standing {
			normal := math.Round(c.Normal)
			g.Normal, g.NormalText, g.Beyond = &normal, l.agent.Figure(q, normal), c.Beyond
		}
		if target, err := strconv.ParseFloat(l.standing.Known["target-"+q], 64); err == nil {
			g.Target, g.TargetText = &target, l.agent.Figure(q, target)
		}
		out = append(out, g)
	}
	return out
}

// unit is a quantity's as a person reads it.
func (s *Service) unit(quantity string) string {
	q := s.base.Quantities[quantity]
	switch {
	case q == nil:
		return ""
	case q.Shown != "":
		return q.Shown
	}
	return q.Unit
}

func (l *look) checks() []CheckView {
	var out []CheckView
	for _, c := range l.standing.Passed {
		out = append(out, CheckView{c, true})
	}
	for _, c := range l.standing.Checks {
		out = append(out, CheckView{c, false})
	}
	return out
}
