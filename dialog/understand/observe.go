package understand

import (
	"maps"
	"slices"
)

// observe finds what is said to be seen, heard or felt: every state word with
// the subject nearest to it.
func (m *message) observe() {
	lastState := -1
	for k := range m.chunks {
		c := &m.chunks[k]
		if c.small(wordNot) && !c.hasState() && lastState >= 0 && !m.stateAhead(k) {
			m.repeatState(k, lastState)
			continue
		}
		if lastState >= 0 && m.onlyVerb(k) {
			m.repeatState(k, lastState)
			continue
		}
		if !c.hasState() || m.claimed[c.first] && m.claimed[c.last-1] || m.attempted(k) || m.usedAsRelation(k) || m.measures(k) || m.acknowledges(k) || m.asksItself(c.first) || m.hearsay(c.first) {
			continue
		}
		if v := m.at[c.first]; v >= 0 && m.values[v].kind != figure && m.placedAt(int(v)) {
			continue
		}
		if comp := c.comp(); comp != nil && (comp.All || c.last-c.first == 1) && m.placedOn(c.first) {
			continue // "run 12" names the terminal, "240 in and out" both ends
		}
		lastState = k
		m.stateAt(k)
	}
	m.mentioned()
}

// hearsay tells a token of what somebody else told, or of another day.
func (m *message) hearsay(i int) bool {
	return slices.ContainsFunc(m.told, func(s [2]int) bool { return s[0] <= i && i < s[1] })
}

// measures tells a verb that leads to a figure in amps: "jala 12.5 amperes" says
// what is drawn, not that it runs.
func (m *message) measures(k int) bool {
	c := &m.chunks[k]
	if !c.small(wordReads) || c.last >= len(m.toks) {
		return false
	}
	v := m.at[c.last]
	return v >= 0 && m.placedAt(int(v)) && hasQuantity(m.values[v].units, "current")
}

// stateAhead tells whether the clause goes on to a state word.
func (m *message) stateAhead(k int) bool {
	for j := k + 1; j < len(m.chunks) && j <= k+4 && m.sameClause(m.chunks[k].last, m.chunks[j].first); j++ {
		if m.chunks[j].hasState() && m.chunks[j].comp() == nil {
			return true
		}
	}
	return false
}

// onlyVerb tells that a clause ends with a bare verb: "the fan is", "the fan does".
func (m *message) onlyVerb(k int) bool {
	c := &m.chunks[k]
	switch m.toks[c.first].text {
	case "is", "does", "are", "do", "was", "yes", "too", "also", "as":
	default:
		return false
	}
	if c.last-c.first > 1 || k == 0 || m.chunks[k-1].comp() == nil || m.chunks[k-1].last != c.first {
		return false
	}
	return c.last >= len(m.toks) || m.toks[c.last].kind != wordToken && m.toks[c.last].kind != numberToken
}

// weakState tells a state word that counts only beside its subject.
func (m *message) weakState(k int) bool {
	for _, s := range m.chunks[k].means {
		if s.kind == isState && !s.state.Weak {
			return false
		}
	}
	return true
}

// repeatState reads "the fan runs, the compressor doesn't".
func (m *message) repeatState(k, lastState int) {
	if k == 0 || m.chunks[k-1].comp() == nil || m.chunks[k].first-m.chunks[k-1].last > 2 || !m.sameSentence(m.chunks[lastState].first, m.chunks[k].first) {
		return
	}
	for _, subject := range m.subjectsOf(&m.chunks[k-1]) {
		for _, s := range m.chunks[lastState].means {
			if s.kind == isState && s.state.Of[subject] != "" {
				m.note(subject, s.state.Of[subject], m.chunks[k].small(wordNot))
				break
			}
		}
	}
}

// mentioned notes what naming a thing already tells: "oil at the flare".
func (m *message) mentioned() {
	for k := range m.chunks {
		comp := m.chunks[k].comp()
		if comp == nil || comp.Seen == "" {
			continue
		}
		subject, known := comp.Subjects[0], false
		for i := range m.out.Observations {
			known = known || m.out.Observations[i].Subject == subject
		}
		if known {
			continue
		}
		m.note(subject, comp.Seen, m.deniedBefore(k))
	}
}

// usedAsRelation tells that a word like "out" or "on" was read as part of a place
// that got a value.
func (m *message) usedAsRelation(k int) bool {
	c := &m.chunks[k]
	for i := range m.places {
		if p := &m.places[i]; p.pair && p.first <= c.first && c.last <= p.last {
			return true // "common to start" starts nothing
		}
	}
	if _, ok := c.rel(); !ok {
		return false
	}
	for i := range m.found {
		if f := &m.found[i]; f.place >= 0 && m.places[f.place].first <= c.first && c.last <= m.places[f.place].last {
			return true
		}
	}
	if c.last-c.first == 1 && m.preposition(k) {
		return true
	}
	if k > 0 && m.chunks[k-1].comp() != nil && m.onlyFiller(m.chunks[k-1].last, c.first) && m.says(k, m.subjectsOf(&m.chunks[k-1])) {
		return false
	}
	return m.nextComponent(k) >= 0 && m.chunks[k].last-m.chunks[k].first == 1
}

// preposition tells that "on" or "in" leads to a place nobody knows: "sitting on
// top", "noisy on startup", "it stinks in here".
func (m *message) preposition(k int) bool {
	i := m.chunks[k].last
	if before := m.chunks[k].first - 1; before >= 0 && m.toks[before].kind == wordToken && m.chunkOf[before] < 0 && len(m.toks[before].text) > 4 {
		return true // "rusted on"
	}
	if i < len(m.toks) && m.at[i] >= 0 && (m.values[m.at[i]].use == aside || m.claimed[i]) {
		return true // "on 454B"
	}
	if i >= len(m.toks) || m.toks[i].kind != wordToken || m.at[i] >= 0 {
		return false
	}
	if m.toks[i].id == unknown || m.article(i) && m.nextComponent(k) < 0 {
		return true
	}
	next := m.chunkAt(i)
	if next == nil {
		return false
	}
	_, rel := next.rel()
	return rel && next.comp() == nil && !next.small(wordFiller) && !next.hasState()
}

// stateAt places the state word of chunk k.
func (m *message) stateAt(k int) {
	subjects := m.subjectsBefore(k)
	if of := m.attributed(k); of != nil {
		subjects = of
	} else if own := m.chunks[k].comp(); own != nil && m.says(k, own.Subjects) && m.chunks[k].last-m.chunks[k].first > 1 {
		subjects = own.Subjects
	} else if len(subjects) == 0 || !m.says(k, subjects) || m.chunks[k].small(wordBareNo) || m.chunks[k].small(wordNothing) && !m.beside(k) {
		if after := m.subjectsAfter(k); len(after) > 0 && m.says(k, after) && !m.chunks[k].small(wordFiller) {
			subjects = after
		}
	}
	if len(subjects) == 0 && !m.weakState(k) && !m.chunks[k].small(wordNothing) && !m.saysAll(k) {
		subjects = m.subjectCarried(k)
	}
	negated := m.negated(k)
	done := false
	for _, s := range m.chunks[k].means {
		if s.kind != isState {
			continue
		}
		for _, subject := range subjects {
			if st, ok := s.state.Of[subject]; ok {
				m.note(subject, st, negated)
				done = true
			}
		}
	}
	if done {
		return
	}
	if len(subjects) == 0 && m.askApart(k) {
		return
	}
	for _, s := range m.chunks[k].means {
		if s.kind == isState && s.state.All {
			if asked := m.ctx.AskedObservation; s.state.Of[asked] != "" && m.ofIt(k) {
				m.note(asked, s.state.Of[asked], negated)
				return
			}
			for _, subject := range slices.Sorted(maps.Keys(s.state.Of)) {
				m.note(subject, s.state.Of[subject], negated)
			}
			return
		}
		if s.kind == isState && s.state.Alone != "" {
			m.note(s.state.Alone, s.state.Of[s.state.Alone], negated)
			return
		}
	}
	m.stateOfAsked(k, negated)
}

// askApart asks which of its parts a general word is, when a state was told of it and
// nothing settles that: "fan isn't running".
func (m *message) askApart(k int) bool {
	for j := k - 1; j >= 0 && j >= k-3 && m.sameClause(m.chunks[j].last, m.chunks[k].first); j-- {
		c := &m.chunks[j]
		comp := c.comp()
		if comp == nil {
			continue
		}
		if !comp.Apart || len(comp.Subjects) < 2 || !m.says(k, comp.Subjects) || m.readAt(j) || m.usuallyOf(k, comp.Subjects) {
			return false
		}
		text := m.text[m.toks[c.first].start:m.toks[c.last-1].end]
		if !slices.ContainsFunc(m.out.Unclear, func(u Unclear) bool { return u.Text == text }) {
			m.out.Unclear = append(m.out.Unclear, Unclear{Text: text, Options: comp.Subjects})
		}
		return true
	}
	return false
}

// usuallyOf tells a state that is of one of some parts when none is named: "coil is
// iced".
func (m *message) usuallyOf(k int, subjects []string) bool {
	return slices.ContainsFunc(m.chunks[k].means, func(s meaning) bool {
		return s.kind == isState && s.state.Alone != "" && slices.Contains(subjects, s.state.Alone)
	})
}

// attributed are the subjects of the part a state word stands in front of: "and
// there's a burnt wire".
func (m *message) attributed(k int) []string {
	switch m.tok(m.chunks[k].first - 1).text {
	case "a", "an", "some", "theres", "there's", "found", "two", "few", "couple":
	default:
		return nil
	}
	next := m.chunkAt(m.chunks[k].last)
	if next == nil || next.comp() == nil || next.comp() == m.chunks[k].comp() || len(next.comp().Subjects) != 1 || !m.says(k, next.comp().Subjects) {
		return nil
	}
	return next.comp().Subjects
}

// saysAll tells a state that is of everything when its clause names no part.
func (m *message) saysAll(k int) bool {
	return slices.ContainsFunc(m.chunks[k].means, func(s meaning) bool { return s.kind == isState && s.state.All })
}

// beside tells that a part stands right before a state word: "outside is dead".
func (m *message) beside(k int) bool {
	return k > 0 && m.chunks[k-1].comp() != nil && m.onlyFiller(m.chunks[k-1].last, m.chunks[k].first) ||
		k > 1 && m.chunks[k-2].comp() != nil && m.onlyFiller(m.chunks[k-2].last, m.chunks[k].first)
}

// stateOfAsked gives a state word nobody is named for to the part whose reading
// was asked: "it's closed, 0.2".
func (m *message) stateOfAsked(k int, negated bool) {
	homes := m.r.homes[m.ctx.Asked]
	if len(homes) == 0 || m.chunks[k].small(wordNothing) || m.chunks[k].small(wordOpen) || m.chunks[k].small(wordInfinite) || m.chunks[k].small(wordFiller) || m.chunks[k].first > 3 || m.weakState(k) || len(m.places) > 0 {
		return
	}
	for _, s := range m.chunks[k].means {
		if s.kind != isState {
			continue
		}
		for _, subject := range homes[0].comp.Subjects {
			if st, ok := s.state.Of[subject]; ok {
				m.note(subject, st, negated)
				return
			}
		}
	}
}

func (m *message) says(k int, subjects []string) bool {
	for _, s := range m.chunks[k].means {
		if s.kind != isState {
			continue
		}
		for _, subject := range subjects {
			if _, ok := s.state.Of[subject]; ok {
				return true
			}
		}
	}
	return false
}

func (m *message) note(subject, state string, negated bool) {
	if negated {
		state = m.opposite(subject, state)
	}
	for i := range m.out.Observations {
		o := &m.out.Observations[i]
		if o.Subject != subject {
			continue
		}
		if slices.Contains(m.r.supersedes[o.State], state) {
			return
		}
		if slices.Contains(m.r.supersedes[state], o.State) {
			o.State = state
			return
		}
		if m.opposite(subject, state) == o.State {
			o.State = state
			return
		}
	}
	m.addObservation(subject, state)
}

// deniedBefore tells whether a few words before a chunk say no.
func (m *message) deniedBefore(k int) bool {
	for j := k - 1; j >= 0 && j >= k-4 && m.chunks[k].first-m.chunks[j].last <= 4 && m.sameClause(m.chunks[j].last, m.chunks[k].first); j-- {
		if m.chunks[j].small(wordNot) || m.chunks[j].small(wordBareNo) || m.chunks[j].small(wordNothing) {
			return true
		}
	}
	return false
}

func (m *message) opposite(subject, state string) string {
	if s, ok := m.r.opposites[subject][state]; ok {
		return s
	}
	return m.r.opposites["any"][state]
}

// negated tells whether a state word is denied: "isn't running", "not pulling in".
func (m *message) negated(k int) bool {
	if m.neither(k) || m.nothingOf(k) {
		return true
	}
	i := m.chunks[k].first - 1
	for steps := 0; steps < 3 && i >= 0; steps++ {
		if c := m.chunkOf[i]; c >= 0 {
			ch := &m.chunks[c]
			if ch.small(wordBareNo) && ch.first == 0 && m.ctx.AskedObservation != "" {
				return false // "no, not in" answers twice
			}
			if ch.small(wordNot) || (ch.small(wordBareNo) || ch.small(wordNothing)) && (ch.last == m.chunks[k].first || m.onlyPart(int(c)+1, k)) && !m.chunks[k].small(wordNothing) {
				return true
			}
			if ch.small(wordNo) && ch.last-ch.first > 1 && ch.last == m.chunks[k].first {
				return true // "it isn't spinning"
			}
			if ch.hasState() && !ch.small(wordFiller) {
				return false
			}
		}
		if t := m.toks[i]; t.kind != wordToken || t.text == "but" || t.text == "and" {
			return false
		}
		i--
	}
	return false
}

// onlyPart tells that one part is all that stands before a state word: the compressor
// in "no compressor running".
func (m *message) onlyPart(j, k int) bool {
	return j == k-1 && !m.chunks[k].small(wordBareNo) && m.chunks[j].comp() != nil && m.chunks[j].first == m.chunks[j-1].last && m.chunks[j].last == m.chunks[k].first
}

// neither tells that the clause began with "neither": the fan nor the compressor.
func (m *message) neither(k int) bool {
	for i := m.chunks[k].first - 1; i >= 0 && i > m.chunks[k].first-12; i-- {
		if m.endsSentence(i) || m.toks[i].text == "but" {
			return false
		}
		if m.toks[i].text == "neither" {
			return true
		}
	}
	return false
}
