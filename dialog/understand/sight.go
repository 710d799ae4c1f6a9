package understand

import (
	"slices"

	"proveout/knowledge"
)

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

// nothingOf reads "nothing outside is on": the word denies what is said of the part
// behind it.
func (m *message) nothingOf(k int) bool {
	nothing := k - 2
	for nothing >= 0 && nothing > k-7 && !m.isWord(m.chunks[nothing].first, "nothing") {
		nothing--
	}
	if nothing < 0 || nothing <= k-7 {
		return false
	}
	c := &m.chunks[nothing]
	if v := m.at[c.first]; v >= 0 && m.placedAt(int(v)) {
		return false
	}
	if slices.ContainsFunc(m.chunks[k].means, func(s meaning) bool { return s.kind == isState && s.state.Of["compressor"] == "off" }) {
		return false // "nothing outside is doing anything": off already
	}
	for i := c.last; i < m.chunks[k].first; i++ {
		part := m.chunkOf[i] >= 0 && m.chunks[m.chunkOf[i]].comp() != nil
		if !part && !m.filler(i) && !m.isWord(i, "is") && !m.isWord(i, "at") && !m.isWord(i, "on") {
			return false
		}
	}
	return true
}

// hintedElse tells a figure whose own word, "pulling 18", is of another quantity
// than a place beside it has.
func (m *message) hintedElse(v *value, ids []knowledge.ReadingID) bool {
	if v.kind != figure || v.units != nil || v.hint != "current" {
		return false
	}
	return !slices.ContainsFunc(ids, func(id knowledge.ReadingID) bool { return id.Quantity() == v.hint })
}
