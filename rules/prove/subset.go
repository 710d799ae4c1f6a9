package prove

import (
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/decide"
)

// mostInSubset keeps the optimum quick to compute: the sets of groups double with
// each one.
const mostInSubset = 12

// Subset is a handful of faults that look the same on arrival, and what it takes
// to tell them apart: the least there is, by dynamic programming, and by the
// engine's own choice among the same tests. Proof is not in these minutes.
type Subset struct {
	// Seen is what they have in common.
	Seen    string   `json:"seen"`
	Faults  []string `json:"faults"`
	Optimal float64  `json:"optimal"`
	Engine  float64  `json:"engine"`
}

// Ratio is the engine's minutes over the least.
func (s Subset) Ratio() float64 { return s.Engine / s.Optimal }

// subsets groups the truths by what is seen on arrival: the sightings the
// flowchart starts with. Each fault enters in its likeliest degree, and the
// likeliest faults where there are more than the optimum can be computed for.
func subsets(m *rules.Model, base *knowledge.Base, truths []rules.Truth) []Subset {
	opening := sightings(m, base)
	byLook := map[string][]rules.Truth{}
	for _, t := range likeliest(m, truths) {
		look := looks(m, t, opening)
		byLook[look] = append(byLook[look], t)
	}
	out := []Subset{}
	for look, group := range byLook {
		slices.SortStableFunc(group, func(a, b rules.Truth) int {
			if m.Share(a) > m.Share(b) {
				return -1
			}
			return 1
		})
		group = group[:min(len(group), mostInSubset)]
		if s, ok := subset(m, look, group); ok {
			out = append(out, s)
		}
	}
	slices.SortFunc(out, func(a, b Subset) int { return strings.Compare(a.Seen, b.Seen) })
	return out
}

func subset(m *rules.Model, look string, group []rules.Truth) (Subset, bool) {
	s := Subset{Seen: look}
	for _, t := range group {
		s.Faults = append(s.Faults, t.Fault)
	}
	p := m.Sorting(group, knowledge.Calling, "")
	prune(p)
	_, s.Optimal = p.Best()
	if s.Optimal == 0 {
		return s, false // one fault, or none told apart
	}
	s.Engine = p.Follow()
	return s, true
}

// prune leaves out tests that tell these groups nothing.
func prune(p *decide.Problem) {
	cost, kept := p.Cost, []int{}
	var tests []decide.Test
	for i, t := range p.Tests {
		if slices.Min(t.Answer) != slices.Max(t.Answer) {
			tests, kept = append(tests, t), append(kept, i)
		}
	}
	p.Tests = tests
	p.Cost = func(from uint8, test int) float64 { return cost(from, kept[test]) }
}

// sightings are the observations the flowchart opens with.
func sightings(m *rules.Model, base *knowledge.Base) []string {
	chart := flowchart(m, base)
	for i, what := range chart {
		if base.Observations[what] == nil {
			return chart[:i]
		}
	}
	return chart
}

// likeliest keeps one degree of each fault.
func likeliest(m *rules.Model, truths []rules.Truth) []rules.Truth {
	var out []rules.Truth
	for _, t := range truths {
		if n := len(out); n > 0 && out[n-1].Fault == t.Fault {
			if m.Share(t) > m.Share(out[n-1]) {
				out[n-1] = t
			}
			continue
		}
		out = append(out, t)
	}
	return out
}

func looks(m *rules.Model, t rules.Truth, opening []string) string {
	var out []string
	for _, what := range opening {
		a := m.Question(&rules.Situation{}, what, "")
		if a == nil {
			continue
		}
		if it, ok := m.Answer(t, a); ok {
			out = append(out, what+" "+it.Seen)
		}
	}
	return strings.Join(out, ", ")
}
