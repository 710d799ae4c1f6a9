package understand

import "slices"

// attempted tells a try named as the time of something else, no state of its own:
// "the breaker trips when the compressor tries to start".
func (m *message) attempted(k int) bool {
	c := &m.chunks[k]
	switch m.toks[c.first].text {
	case "tries", "trying", "try", "tried", "attempts":
	default:
		return false
	}
	for i := c.first - 1; i >= 0 && i > c.first-7 && !m.endsSentence(i) && m.toks[i].text != ","; i-- {
		switch m.toks[i].text {
		case "when", "whenever", "once", "if", "while", "as", "time", "before", "soon":
			return true
		}
	}
	return false
}

// ofIt tells a state of everything said without a word for everything: "it runs
// great" is of the part that was asked about.
func (m *message) ofIt(k int) bool {
	for _, t := range m.toks[m.chunks[k].first:m.chunks[k].last] {
		switch t.text {
		case "all", "everything", "everything's", "whole", "nothing", "nothing's", "inside", "system", "both":
			return false
		}
	}
	return true
}

// tellers are the parts of a component a state word can be of. A whole unit that
// hums has one part that hums: the one that was asked about, or one not named.
func (m *message) tellers(k int, c *chunk) []string {
	subjects := m.subjectsOf(c)
	if comp := c.comp(); comp.Place == "" || comp.Apart || !m.tellsOne(k, subjects) {
		return subjects
	}
	if slices.Contains(subjects, m.ctx.AskedObservation) {
		return []string{m.ctx.AskedObservation}
	}
	return nil
}

// tellsOne tells a noise that several of some parts can make, and one does.
func (m *message) tellsOne(k int, subjects []string) bool {
	n := 0
	for _, s := range m.chunks[k].means {
		if s.kind != isState {
			continue
		}
		for _, subject := range subjects {
			if st := s.state.Of[subject]; st == "humming" || st == "noisy" {
				n++
			}
		}
	}
	return n > 1
}
