package dialog

import (
	"math"
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// askStep asks the question: what, how, what the answers would mean, the caution.
func (t *turn) askStep() {
	a := t.job.Asked
	switch {
	case a.Fact != "":
		t.add(Next, "ask-fact", "ask", t.base.Facts[a.Fact].Ask)
		return
	case a.Observation != "":
		t.askObservation(a)
	default:
		t.askReading(a)
	}
	if a.Purpose != rules.ToRecheck && a.Purpose != rules.ToConfirm && !t.askedBefore {
		t.means(a)
	}
}

func (t *turn) askObservation(a *rules.Ask) {
	o := t.base.Observations[a.Observation]
	switch {
	case a.Purpose == rules.ToConfirm:
		t.reread()
	case a.Purpose == rules.ToRecheck:
		t.add(Next, "ask-recheck-seen", "ask", o.Ask, "value", t.item(&t.evidence()[a.Doubts]))
	case a.State == knowledge.Standing:
		t.add(Next, "ask-observation-standing", "ask", o.Ask)
	default:
		t.add(Next, "ask-observation", "ask", o.Ask)
	}
	t.caution(o.Cautions, false)
}

func (t *turn) askReading(a *rules.Ask) {
	m := t.base.Measurements[a.Reading]
	s := t.job.Situation
	switch {
	case s.CannotTake[a.Key()] || s.CannotTake[string(a.Reading)] || s.Lacks[m.Instrument]:
		t.add(Next, "ask-again", "name", m.Name)
	case a.Purpose == rules.ToConfirm:
		t.reread()
	case a.Purpose == rules.ToRecheck:
		it := t.evidence()[a.Doubts]
		t.add(Next, "ask-recheck", "name", m.Name, "value", t.value(it.Reading.Quantity(), it.Value))
	case m.AtStart && a.State == knowledge.Calling && m.Through != nil:
		t.add(Next, "ask-reading-start", "name", m.Name)
	default:
		t.add(Next, "ask-reading", "name", m.Name, "state", t.stateNote(m, a.State))
	}
	if m.Leads != "" && a.Purpose != rules.ToConfirm && a.Purpose != rules.ToRecheck && !t.askedBefore && !t.has("ask-how") {
		t.add(How, "ask-how", "setting", sentence(m.Setting), "leads", m.Leads)
	}
	t.caution(m.Cautions, false)
}

// stateNote says which state of the machine a reading wants, where the setting
// does not say it already.
func (t *turn) stateNote(m *knowledge.Measurement, state string) string {
	if m := t.english.Measurements[t.job.Asked.Reading]; state == "" || m != nil && strings.Contains(m.Setting, "power off") {
		return ""
	}
	if state == knowledge.Calling && t.job.Situation.State == knowledge.Calling && len(m.States) == 1 {
		return ""
	}
	return t.base.Phrases["state-"+state]
}

// answerGroup is answers that come to the same: alike figures, or the same fault
// left leading.
type answerGroup struct {
	answer      string
	value       float64
	probability float64
	leaves      []rules.Suspect
}

// answersTold is how many answers a person is told the meaning of.
const answersTold = 3

// means says what each answer would point to, the likeliest answers first.
func (t *turn) means(a *rules.Ask) {
	var parts []string
	for _, m := range t.meanings(a) {
		parts = append(parts, t.say("means", "answer", sentence(m.Answer), "faults", t.either(m.Faults)))
	}
	if len(parts) > 0 {
		t.lines = append(t.lines, Line{Part: Means, Text: strings.Join(parts, " ")})
	}
}

// meanings are the answers to expect with what each would point to; none where all
// come to the same.
func (t *turn) meanings(a *rules.Ask) []Meaning {
	var groups []answerGroup
	for _, o := range a.Outcomes {
		if o.Probability < 0.04 || len(o.Leaves) == 0 {
			continue
		}
		g := answerGroup{t.answerText(a, o), o.Value, o.Probability, o.Leaves}
		if !slices.ContainsFunc(groups, func(h answerGroup) bool { return h.like(g) }) {
			groups = append(groups, g)
		}
	}
	if len(groups) < 2 {
		return nil
	}
	var out []Meaning
	for _, g := range groups[:min(answersTold, len(groups))] {
		m := Meaning{Answer: g.answer, Probability: g.probability}
		for _, s := range g.leaves[:min(2, len(g.leaves))] {
			if len(m.Faults) == 0 || s.Probability > 0.15 {
				m.Faults = append(m.Faults, t.short(s.Fault))
			}
		}
		out = append(out, m)
	}
	return out
}

// like: within a fifth of each other a person would not call two figures two
// answers.
func (g answerGroup) like(h answerGroup) bool {
	if g.answer == h.answer || g.leaves[0].Fault == h.leaves[0].Fault {
		return true
	}
	return g.value > 1 && h.value > 1 && math.Abs(g.value-h.value) < 0.2*max(g.value, h.value)
}

func (t *turn) answerText(a *rules.Ask, o rules.Outcome) string {
	if a.Observation != "" {
		return t.seen(a.Observation, o.Seen)
	}
	v := t.rough(a.Reading.Quantity(), o.Value)
	if math.IsInf(o.Value, 1) || strings.HasPrefix(v, "0 ") {
		return v
	}
	return t.say("about", "value", v)
}
