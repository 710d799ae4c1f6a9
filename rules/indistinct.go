package rules

import (
	"math"
	"strconv"

	"proveout/knowledge"
)

// Twins are two faults that nothing that may be asked tells apart, in the degrees
// given.
type Twins struct {
	A, B             string
	DegreeA, DegreeB int
}

// tellable is how far two faults' chances of the answers to one question must lie
// apart, in total variation, for the question to tell them apart. Below it a
// hundred answers would be needed.
const tellable = 0.1

// Indistinct lists the pairs of faults that are twins in at least one degree each,
// by fault id; each pair once. Readings count as the same when the spread of sound
// machines and of the meter hides their difference.
func (m *Model) Indistinct() []Twins {
	var out []Twins
	found := map[[2]int]bool{}
	truths := m.Truths()
	for i, a := range truths {
		for _, b := range truths[i+1:] {
			pair := [2]int{m.place[a.Fault], m.place[b.Fault]}
			if a.Fault != b.Fault && !found[pair] && m.same(a.hyp, b.hyp) {
				found[pair] = true
				out = append(out, Twins{a.Fault, b.Fault, a.Degree, b.Degree})
			}
		}
	}
	return out
}

func (m *Model) same(a, b int) bool {
	for _, t := range m.tests {
		if t.askable && t.of[a] != t.of[b] && apart(t.forecasts[t.of[a]].outcome, t.forecasts[t.of[b]].outcome) >= tellable {
			return false
		}
	}
	return true
}

// apart is the total variation between two distributions over the same answers.
func apart(p, q []float64) float64 {
	d := 0.0
	for k := range p {
		d += math.Abs(p[k]-q[k]) / 2
	}
	return d
}

// Unprovable is a fault, in one of its degrees, that would not show what its own
// proof asks.
type Unprovable struct {
	Fault  string
	Degree int
	// Step is the place of the first step of the proof it does not meet.
	Step int
}

// met is the least chance of a finding under a fault for its proof to count on it.
const met = 0.02

// Unprovable lists every degree of a fault some step of whose proof none of its ways
// is likely to meet on this unit: it could be there and never be called.
func (m *Model) Unprovable() []Unprovable {
	var out []Unprovable
	for _, t := range m.Truths() {
		for i, step := range m.base.Faults[t.Fault].Proof {
			if !m.meets(t.hyp, step) {
				out = append(out, Unprovable{t.Fault, t.Degree, i})
				break
			}
		}
	}
	return out
}

func (m *Model) meets(h int, step knowledge.ProofStep) bool {
	for _, way := range step.AnyOf {
		chance := 1.0
		for _, f := range way {
			chance = min(chance, m.chanceOf(h, f))
		}
		if chance >= met {
			return true
		}
	}
	return false
}

// chanceOf is the probability of a finding under a hypothesis, 0 when it cannot be
// asked for. A part that is not fitted asks nothing.
func (m *Model) chanceOf(h int, f knowledge.Finding) float64 {
	if !m.onUnit(f) {
		return 1
	}
	if f.Fact != "" {
		return m.chanceOfFact(f)
	}
	t := m.testFor(f)
	if t == nil || !t.askable {
		return 0
	}
	forecast := t.forecasts[t.of[h]]
	if f.Observation != "" {
		for k, s := range t.seen {
			if s == f.Is {
				return forecast.chance[k]
			}
		}
		return 0
	}
	low, high := m.span(f)
	if !math.IsInf(low, 0) {
		low = t.scale.at(low)
	}
	if !math.IsInf(high, 0) {
		high = t.scale.at(high)
	}
	chance := 0.0
	for _, l := range forecast.lobes {
		chance += l.weight * (math.Erf((high-l.mean)/(l.sigma*math.Sqrt2)) - math.Erf((low-l.mean)/(l.sigma*math.Sqrt2))) / 2
	}
	return chance
}

// span is what a finding bounds its reading to, in the reading's unit.
func (m *Model) span(f knowledge.Finding) (low, high float64) {
	low, high = math.Inf(-1), math.Inf(1)
	if f.AtLeast != nil {
		low, _ = m.base.Resolve(*f.AtLeast, m.facts)
	}
	if f.AtMost != nil {
		high, _ = m.base.Resolve(*f.AtMost, m.facts)
	}
	if f.SaturationAtLeast != nil {
		v, _ := m.base.Resolve(*f.SaturationAtLeast, m.facts)
		low = max(low, m.here.Pressure(knowledge.ReadingID(f.Reading), v))
	}
	if f.SaturationAtMost != nil {
		v, _ := m.base.Resolve(*f.SaturationAtMost, m.facts)
		high = min(high, m.here.Pressure(knowledge.ReadingID(f.Reading), v))
	}
	return low, high
}

// chanceOfFact is 1 when a finding on a fact holds for the unit as told and usual.
func (m *Model) chanceOfFact(f knowledge.Finding) float64 {
	is, told := m.facts[f.Fact]
	if !told {
		is = m.base.Facts[f.Fact].Default
	}
	if f.Is != "" {
		if is == f.Is {
			return 1
		}
		return 0
	}
	low, high := m.span(f)
	if v, err := strconv.ParseFloat(is, 64); err != nil || v < low || v > high {
		return 0
	}
	return 1
}
