package understand

import "slices"

// subjectsBefore are the subjects of the component before a state word, with
// those joined to it by "and".
func (m *message) subjectsBefore(k int) []string {
	for j := k - 1; j >= 0 && j >= k-7; j-- {
		c := &m.chunks[j]
		if !m.sameClause(c.last, m.chunks[k].first) {
			return nil
		}
		comp := c.comp()
		if comp == nil || len(comp.Subjects) == 0 || m.chunks[k].first-c.last > 7 {
			continue
		}
		if head := m.headOf(j); head != nil && m.says(k, head) {
			return head
		}
		subjects := m.tellers(k, c)
		if !m.says(k, subjects) {
			continue
		}
		return append(m.joinedBefore(j), subjects...)
	}
	return nil
}

// headOf is what a part only tells the place of: the wires in "wires on the
// contactor are burnt".
func (m *message) headOf(j int) []string {
	i := m.chunks[j].first
	for i > 0 && m.filler(i-1) {
		i--
	}
	k := m.chunkBefore(i)
	if k < 1 || i == m.chunks[j].first || m.chunks[k].last != i || m.chunks[k-1].last != m.chunks[k].first {
		return nil
	}
	rel, ok := m.chunks[k].rel()
	comp := m.chunks[k-1].comp()
	if !ok || rel != relAt || m.chunks[k].comp() != nil || comp == nil || comp.Point {
		return nil
	}
	return m.subjectsOf(&m.chunks[k-1])
}

// joinedBefore collects "outdoor fan and" before the component in chunk j.
func (m *message) joinedBefore(j int) []string {
	var out []string
	for i := j - 1; i >= 0; i-- {
		c := &m.chunks[i]
		if c.small(wordAnd) || c.small(wordFiller) && c.comp() == nil {
			continue
		}
		if c.comp() == nil || len(c.comp().Subjects) == 0 || !m.subjectsTogether(c.last, m.chunks[j].first) {
			return out
		}
		out = append(m.subjectsOf(c), out...)
		j = i
	}
	return out
}

// subjectsTogether tells that only "and", "nor" or a comma joins two subjects.
func (m *message) subjectsTogether(from, to int) bool {
	for i := from; i < to; i++ {
		if t := m.toks[i].text; t == "on" || t == "at" {
			return false
		}
	}
	return m.together(from, to)
}

func (m *message) subjectsAfter(k int) []string {
	if m.isWord(m.chunks[k].last, "and") {
		return nil // "not turning and the comp is hot": what follows is said of for itself
	}
	for j := k + 1; j < len(m.chunks) && j <= k+4; j++ {
		c := &m.chunks[j]
		if !m.sameClause(m.chunks[k].last, c.first) || c.first-m.chunks[k].last > 3 || c.first-m.chunks[k].last > 1 && m.weakState(k) {
			return nil // "no y call outside" is no unit that is off
		}
		if comp := c.comp(); comp != nil && len(comp.Subjects) > 0 && m.says(k, m.tellers(k, c)) {
			out := m.tellers(k, c)
			if next := m.partBehind(j); next >= 0 && m.together(c.last, m.chunks[next].first) && !m.stateFollows(next) {
				out = append(slices.Clone(out), m.subjectsOf(&m.chunks[next])...)
			}
			return out
		}
		if c.hasState() && !c.small(wordFiller) && c.comp() == nil {
			if _, rel := c.rel(); rel && m.chunks[k].small(wordNothing) {
				continue // "nothing out at the condenser"
			}
			return nil
		}
	}
	return nil
}

// partBehind is the part named next after the one in chunk j, with only small words
// between, or -1.
func (m *message) partBehind(j int) int {
	for k := j + 1; k < len(m.chunks) && k <= j+3; k++ {
		if m.chunks[k].comp() != nil {
			return k
		}
		if !m.chunks[k].small(wordAnd) && !m.chunks[k].small(wordFiller) {
			return -1
		}
	}
	return -1
}

// stateFollows tells whether a component has a state word of its own behind it.
func (m *message) stateFollows(j int) bool {
	return j+1 < len(m.chunks) && m.chunks[j+1].hasState() && m.sameClause(m.chunks[j].last, m.chunks[j+1].first)
}

// subjectsOf are a component's subjects; a lone fan is settled by place.
func (m *message) subjectsOf(c *chunk) []string {
	comp := c.comp()
	if there := m.everythingThere(c, comp); there != nil {
		return there
	}
	if !comp.Apart || len(comp.Subjects) < 2 {
		return comp.Subjects
	}
	if left := m.notNamed(comp); len(left) == 1 {
		if same := m.sameAgain(c, comp); same != "" {
			return []string{same}
		}
		return left
	}
	switch m.placeNear(c.first, c.last, comp) {
	case "outdoor":
		return comp.Subjects[:1]
	case "indoor":
		return comp.Subjects[1:2]
	}
	for _, s := range comp.Subjects {
		if s == m.ctx.AskedObservation || s == m.ctx.Asked.Point() {
			return []string{s}
		}
	}
	return nil
}

// everythingThere are the parts of the unit a word for everything is said of:
// "everything outside is off".
func (m *message) everythingThere(c *chunk, everything *component) []string {
	if len(everything.Subjects) < 3 || everything.Place != "" {
		return nil
	}
	for k := range m.chunks {
		x := &m.chunks[k]
		if there := x.comp(); there == nil || there.Place == "" || len(there.Subjects) == 0 || x.last != c.first && !(c.last <= x.first && m.onlyFillerOrAt(c.last, x.first)) {
			continue
		}
		var both []string
		for _, s := range x.comp().Subjects {
			if slices.Contains(everything.Subjects, s) {
				both = append(both, s)
			}
		}
		return both
	}
	return nil
}

// onlyFillerOrAt tells that nothing but articles and "at" stands between.
func (m *message) onlyFillerOrAt(from, to int) bool {
	if to-from > 3 {
		return false
	}
	for i := from; i < to; i++ {
		if !m.filler(i) && !m.isWord(i, "at") && !m.isWord(i, "on") {
			return false
		}
	}
	return true
}

// sameAgain is the part named in full before that a general word only speaks of
// again, when nothing was said to be seen of it yet: "condenser fan motor has 238 and
// the fan aint turning".
func (m *message) sameAgain(c *chunk, general *component) string {
	for k := m.chunkBefore(c.first); k >= 0; k-- {
		x := m.chunks[k].comp()
		if x == nil || x == general || len(x.Subjects) != 1 || !slices.Contains(general.Subjects, x.Subjects[0]) {
			continue
		}
		if !slices.ContainsFunc(m.out.Observations, func(o Observation) bool { return o.Subject == x.Subjects[0] }) && m.readAt(k) {
			return x.Subjects[0]
		}
		return ""
	}
	return ""
}

// readAt tells that a value stands at the place a chunk names.
func (m *message) readAt(k int) bool {
	return slices.ContainsFunc(m.found, func(f finding) bool {
		return f.place >= 0 && m.places[f.place].first <= m.chunks[k].first && m.chunks[k].last <= m.places[f.place].last
	})
}

// notNamed are the subjects of a general word that no word of their own names in
// the message: beside "blower" a "fan" is the outdoor one.
func (m *message) notNamed(comp *component) []string {
	var left []string
	for _, s := range comp.Subjects {
		named := false
		for k := range m.chunks {
			x := m.chunks[k].comp()
			if x != nil && len(x.At) == 0 {
				continue // "the fan in the air handler": where it is, not another one
			}
			named = named || x != nil && x != comp && len(x.Subjects) == 1 && x.Subjects[0] == s
		}
		if !named {
			left = append(left, s)
		}
	}
	return left
}

// placeNear is the place named around some tokens, or where the talk is.
func (m *message) placeNear(first, last int, not *component) string {
	at := m.chunkBefore(first) + 1
	for j := max(0, at-5); j < min(len(m.chunks), at+6); j++ {
		x := m.chunks[j].comp()
		if x == nil || x == not || x.Place == "" || m.chunks[j].first-last > 4 || first-m.chunks[j].last > 4 || x.Terminal != "" {
			continue
		}
		return x.Place
	}
	if m.ctx.Place == "" {
		return m.onlyPlace()
	}
	return m.ctx.Place
}

// onlyPlace is the unit a message names parts of when it names no part of another.
func (m *message) onlyPlace() string {
	only := ""
	for k := range m.chunks {
		x := m.chunks[k].comp()
		if x == nil || x.Place == "" || x.Terminal != "" || x.Place == only {
			continue
		}
		if only != "" {
			return ""
		}
		only = x.Place
	}
	return only
}

// sameClause tells that neither a sentence's end, a comma nor "but" lies between.
func (m *message) sameClause(from, to int) bool {
	for i := from; i < to; i++ {
		if t := m.toks[i]; m.endsSentence(i) || t.text == "," || t.text == "but" || t.text == "while" {
			return false
		}
	}
	return true
}

// subjectCarried is the subject spoken of before in the sentence, when the state
// word has none of its own: "the compressor won't start, just hums".
func (m *message) subjectCarried(k int) []string {
	for j := k - 1; j >= 0 && j >= k-8; j-- {
		c := &m.chunks[j]
		if !m.sameSentence(c.last, m.chunks[k].first) {
			return nil
		}
		if comp := c.comp(); comp != nil && len(comp.Subjects) > 0 {
			if s := m.tellers(k, c); m.says(k, s) {
				return s
			}
			return nil
		}
	}
	return nil
}
