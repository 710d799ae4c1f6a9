package rules

import (
	"fmt"
	"maps"
	"slices"

	"proveout/knowledge"
	"proveout/rules/machine"
)

func (m *Model) addObservations(unit *machine.Machine) error {
	for _, subject := range slices.Sorted(maps.Keys(m.base.Observations)) {
		o := m.base.Observations[subject]
		if !unit.Fits(o.Needs) || len(o.Order) == 0 {
			continue
		}
		cases := make([]boundCase, len(o.Cases))
		for i, c := range o.Cases {
			when, err := unit.Condition(c.When)
			if err != nil {
				return fmt.Errorf("observation %s: %w", subject, err)
			}
			cases[i] = boundCase{when, c.Likely}
		}
		for _, state := range knowledge.States {
			t := &test{
				key: key(subject, state), subject: subject, state: state, seen: o.Order, minutes: o.Minutes, where: o.Place, hazard: o.Hazard,
				askable: !o.Reported && (state == o.In || slices.Contains(o.Also, state)),
			}
			m.forecastObservation(t, o, cases)
			m.add(t)
		}
	}
	return nil
}

type boundCase struct {
	when   func(*machine.Phase) bool
	likely map[string]float64
}

func (m *Model) forecastObservation(t *test, o *knowledge.Observation, cases []boundCase) {
	t.of = make([]uint16, len(m.hyps))
	seen := map[string]uint16{}
	for h := range m.hyps {
		c := m.chances(&m.hyps[h], t, o, cases)
		asLobes := make([]lobe, len(c))
		for i, p := range c {
			asLobes[i].weight = p
		}
		id := lobesKey(asLobes)
		i, ok := seen[id]
		if !ok {
			i = uint16(len(t.forecasts))
			seen[id] = i
			t.forecasts = append(t.forecasts, &forecast{chance: c})
		}
		t.of[h] = i
	}
	for _, f := range t.forecasts {
		f.spreadOver(nil, m.tune.slip)
	}
}

// chances are the probabilities of an observation's states under a hypothesis: a
// fault's own shows first, else the first case that holds in each phase, else
// what is usual.
func (m *Model) chances(h *hypothesis, t *test, o *knowledge.Observation, cases []boundCase) []float64 {
	out := make([]float64, len(t.seen))
	put := func(likely map[string]float64, weight float64) {
		total := 0.0
		for _, s := range t.seen { // in a fixed order: sums of floats depend on it
			total += likely[s]
		}
		for i, s := range t.seen {
			if p, ok := likely[s]; ok {
				out[i] += weight * p
			} else if total < 1 {
				out[i] += weight * (1 - total) / float64(len(t.seen)-len(likely))
			}
		}
	}
	for _, f := range h.faults {
		if shows, ok := m.base.Faults[m.faults[f]].Shows[t.subject]; ok && t.state == o.In {
			put(shows, 1)
			return out
		}
	}
	phases := h.behaviour.Phases[t.state]
	for i, p := range phases {
		likely := o.Usual
		for _, c := range cases {
			if c.when(p) {
				likely = c.likely
				break
			}
		}
		put(likely, phaseWeight(phases, i, o.AtStart))
	}
	return out
}
