package rules

// Posterior is the probability of every fault, for laws about all of them.
func (m *Model) Posterior(s *Situation) map[string]float64 {
	out := map[string]float64{}
	for f, p := range m.believe(s).fault {
		out[m.faults[f]] = p
	}
	return out
}

// Hypotheses are the probabilities of all hypotheses, pairs among them.
func (m *Model) Hypotheses(s *Situation) []float64 { return m.believe(s).p }

// Forecast is what one test predicts under every hypothesis.
type Forecast struct {
	Key     string
	Places  []float64
	Of      []uint16
	Outcome [][]float64
	Chance  [][]float64
	Lobes   [][][4]float64
}

// Forecasts is the whole table, in order.
func (m *Model) Forecasts() []Forecast {
	var out []Forecast
	for _, t := range m.tests {
		f := Forecast{Key: t.key, Places: t.places, Of: t.of}
		for _, c := range t.forecasts {
			var lobes [][4]float64
			for _, l := range c.lobes {
				stray := 0.0
				if l.stray {
					stray = 1
				}
				lobes = append(lobes, [4]float64{l.weight, l.mean, l.sigma, stray})
			}
			f.Outcome, f.Chance, f.Lobes = append(f.Outcome, c.outcome), append(f.Chance, c.chance), append(f.Lobes, lobes)
		}
		out = append(out, f)
	}
	return out
}

// Tests are all tests of the unit, asked for or not.
func (m *Model) Tests() []*Ask {
	var out []*Ask
	for _, t := range m.tests {
		out = append(out, &Ask{Reading: t.reading, Observation: t.subject, State: t.state})
	}
	return out
}

// TestOf is the key of the test a piece of evidence belongs to, or "".
func (m *Model) TestOf(it Item) string {
	if t := m.testOf(&it); t != nil {
		return t.key
	}
	return ""
}

// Readable says whether a piece of evidence can be weighed.
func (m *Model) Readable(it Item) bool {
	t := m.testOf(&it)
	return t != nil && t.readable(&it)
}
