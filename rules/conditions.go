package rules

import (
	"maps"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// processTerm is what a hypothesis predicts for a process reading before the
// weather is known.
type processTerm []struct {
	weight float64
	is     machine.Process
}

// processTerms gathers them for a test; nil when the reading is of the circuit.
func (m *Model) processTerms(state string, x *machine.Meter, k *knowledge.Measurement) []processTerm {
	if !k.Process {
		return nil
	}
	out := make([]processTerm, len(m.hyps))
	for h := range m.hyps {
		phases := m.hyps[h].behaviour.Phases[state]
		for i, p := range phases {
			if v, ok := x.Process(p); ok {
				out[h] = append(out[h], struct {
					weight float64
					is     machine.Process
				}{phaseWeight(phases, i, k.AtStart), v})
			}
		}
	}
	return out
}

// Under is the model under the conditions told: outdoor and return air, the
// refrigerant's figures. The circuit's part of the table is shared; m does not
// change.
func (m *Model) Under(facts map[string]string) (*Model, error) {
	told := maps.Clone(m.facts)
	if told == nil {
		told = map[string]string{}
	}
	maps.Copy(told, facts)
	m.targets.fill(m.base, told)
	here, err := machine.Under(m.base, told)
	if err != nil {
		return nil, err
	}
	out := *m
	out.here = here
	out.tests = make([]*test, len(m.tests))
	out.byKey = make(map[string]*test, len(m.byKey))
	for i, t := range m.tests {
		if t.process != nil {
			moved := *t
			out.forecast(&moved, out.processLobes(&moved, here))
			t = &moved
		}
		out.tests[i], out.byKey[t.key] = t, t
	}
	return &out, nil
}

// Saturation is the temperature, °F, a measured pressure (psig at sea level) stands
// for on the unit's refrigerant: on the bubble line of the liquid side, else on the
// dew line. ok is false outside the refrigerant's table.
func (m *Model) Saturation(id knowledge.ReadingID, psig float64) (f float64, ok bool) {
	return m.here.Saturation(id, psig)
}

// processLobes works a process test out under conditions.
func (m *Model) processLobes(t *test, here *machine.Conditions) [][]lobe {
	ls := make([][]lobe, len(m.hyps))
	for h, terms := range t.process {
		for _, term := range terms {
			v, spread := term.is.Under(here)
			ls[h] = add(ls[h], lobe{weight: term.weight, mean: t.scale.at(v), sigma: t.scale.sigma(v, spread*m.widen)})
		}
	}
	m.widenDegrees(t.state, ls)
	return ls
}
