package rules

import (
	"math"
	"slices"

	"proveout/knowledge"
	"proveout/rules/decide"
)

// Truth is one way a machine can truly be: a fault in one of its degrees.
type Truth struct {
	Fault  string
	Degree int
	hyp    int
}

// Truths lists every single fault in every degree, by fault id.
func (m *Model) Truths() []Truth {
	var out []Truth
	for h := range m.hyps {
		if len(m.hyps[h].faults) == 1 {
			out = append(out, Truth{m.faults[m.hyps[h].faults[0]], m.hyps[h].variant, h})
		}
	}
	return out
}

// Share is the truth's prior probability.
func (m *Model) Share(t Truth) float64 { return m.hyps[t.hyp].prior }

// Answer is what a truthful technician would report to a question when t is so:
// the likeliest prediction. ok is false when the unit has no such test.
func (m *Model) Answer(t Truth, a *Ask) (Item, bool) {
	x := m.asked(a)
	if x == nil {
		return Item{}, false
	}
	it := Item{Reading: x.reading, Subject: x.subject, State: x.state}
	f := x.forecasts[x.of[t.hyp]]
	if x.reading != "" {
		it.Value = x.scale.back(mainMean(f.lobes))
		it.Low, it.High = it.Value, it.Value
		return it, true
	}
	it.Seen = x.seen[slices.Index(f.chance, slices.Max(f.chance))]
	return it, true
}

// WrongAnswers lists the answers to a question that t does not predict, as
// someone on the wrong point or misreading the meter might give.
func (m *Model) WrongAnswers(t Truth, a *Ask) []Item {
	x := m.asked(a)
	right, ok := m.Answer(t, a)
	if !ok {
		return nil
	}
	var out []Item
	for k := range x.places {
		it := right
		it.Value = x.scale.back(x.places[k])
		it.Low, it.High = it.Value, it.Value
		if nearest(x.places, x.scale.at(right.Value)) != k {
			out = append(out, it)
		}
	}
	for _, s := range x.seen {
		it := right
		if it.Seen = s; s != right.Seen {
			out = append(out, it)
		}
	}
	return out
}

func (m *Model) asked(a *Ask) *test {
	what := string(a.Reading)
	if what == "" {
		what = a.Observation
	}
	return m.byKey[key(what, a.State)]
}

// Question makes the question for a reading or observation of the unit in a
// state; an empty state is the one it is usually taken in. It is nil when the
// unit has no such test.
func (m *Model) Question(s *Situation, what, state string) *Ask {
	it := Item{State: state}
	if m.base.Observations[what] != nil {
		it.Subject = what
	} else {
		it.Reading = knowledge.ReadingID(what)
	}
	t := m.testOf(&it)
	if t == nil {
		return nil
	}
	return &Ask{Reading: t.reading, Observation: t.subject, State: t.state, Minutes: m.minutes(s.State, s.Place, t)}
}

// Where is the place a question takes the technician to.
func (m *Model) Where(a *Ask) string {
	if t := m.asked(a); t != nil {
		return t.where
	}
	return ""
}

// Key names a question as Situation.Rechecked counts it.
func (a *Ask) Key() string {
	what := string(a.Reading)
	if what == "" {
		what = a.Observation
	}
	return key(what, a.State)
}

// SameAnswer says whether two readings of one point tell the engine the same.
func (m *Model) SameAnswer(a, b *Item) bool {
	if a.Value == b.Value {
		return true
	}
	t := m.testOf(b)
	if t == nil || len(t.places) == 0 {
		return false
	}
	x, y := t.scale.at(a.Value), t.scale.at(b.Value)
	return math.Abs(x-y) <= t.scale.sigma(b.Value, 0)
}

// Sorting is the choice between every test that may be asked when these truths are
// all that can be, from where the machine and the technician are.
func (m *Model) Sorting(truths []Truth, state, place string) *decide.Problem {
	var hyps []int
	var mass []float64
	for _, t := range truths {
		hyps, mass = append(hyps, t.hyp), append(mass, m.Share(t))
	}
	tests := slices.DeleteFunc(slices.Clone(m.tests), func(t *test) bool { return !t.askable })
	return m.problem(hyps, mass, tests, circumstance{state, place})
}
