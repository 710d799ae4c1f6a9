package understand

import (
	"slices"

	"proveout/knowledge"
)

// answerObservation reads yes and no, or a bare state word, as the answer to an
// asked observation.
func (m *message) answerObservation() {
	subject := m.ctx.AskedObservation
	o := m.r.base.Observations[subject]
	if subject == "" || o == nil || len(o.Order) == 0 {
		return
	}
	for i := range m.out.Observations {
		if m.out.Observations[i].Subject == subject {
			return
		}
	}
	if !m.answerByState(subject, o) {
		m.answerByYes(subject, o)
	}
}

// answerByState takes a state word nobody is named for as the answer.
func (m *message) answerByState(subject string, o *knowledge.Observation) bool {
	for k := range m.chunks {
		c := &m.chunks[k]
		if c.small(wordNo) || c.small(wordYes) || m.acknowledges(k) || m.claimed[c.first] || m.asksItself(c.first) {
			continue
		}
		for _, s := range c.means {
			if s.kind != isState && s.kind != isAnswer {
				continue
			}
			if m.switchedOff(k) || m.ofPower(k) {
				continue
			}
			if m.leadsOn(k) && (len(m.found) > 0 || m.article(c.last)) {
				continue // "0 amps on the compressor": a preposition, not the answer
			}
			st, ok := s.state.Of[subject]
			if !ok || len(m.out.Observations) > 0 && c.first >= 3 || m.speaksOfOther(k, subject) {
				continue
			}
			m.note(subject, st, m.negated(k) || m.noSuch(k, st, m.noState(subject, o)))
			return true
		}
	}
	return false
}

// answerByYes takes a yes or a no for the answer when it is the whole message or
// set off from what else is said.
func (m *message) answerByYes(subject string, o *knowledge.Observation) {
	for k := range m.chunks {
		c := &m.chunks[k]
		if k > 1 || k > 0 && len(m.out.Observations) > 0 || len(m.intents) > 0 || c.small(wordNothing) && len(m.found) > 0 {
			return // "zip at the coil" is a reading
		}
		yes, no := c.small(wordYes), c.small(wordNo) || c.small(wordBareNo) || c.small(wordNothing)
		if !yes && !no {
			continue
		}
		if !m.setOff(c.last, subject) || m.figureElsewhere(c.last, subject) || k > 0 && m.chunks[0].comp() != nil && !slices.Contains(m.chunks[0].comp().Subjects, subject) {
			return
		}
		if yes {
			m.addObservation(subject, m.yesState(o))
		} else {
			m.addObservation(subject, m.noState(subject, o))
		}
		return
	}
}

// setOff tells that nothing but small words and the thing asked about follows in
// the clause: "yes it does", "no, the fan is though", and not "no oil".
func (m *message) setOff(i int, subject string) bool {
	for ; i < len(m.toks); i++ {
		t := m.toks[i]
		if t.kind == lineToken || t.kind == markToken || t.text == "and" || t.text == "but" {
			return true
		}
		if m.at[i] >= 0 || m.chunkOf[i] < 0 {
			if m.at[i] >= 0 || t.id == unknown || !m.pronounLike(t.text) {
				return m.at[i] >= 0 && m.values[m.at[i]].kind == figure
			}
			continue
		}
		c := &m.chunks[m.chunkOf[i]]
		if comp := c.comp(); comp != nil && !slices.Contains(comp.Subjects, subject) || c.tool() != "" {
			return false
		}
	}
	return true
}

// figureElsewhere tells that the figure behind a yes was read on another thing than what
// was asked about: "yeah 26 on the coil too" says of no fan that it runs.
func (m *message) figureElsewhere(i int, subject string) bool {
	if i >= len(m.toks) || m.at[i] < 0 {
		return false
	}
	return slices.ContainsFunc(m.found, func(f finding) bool {
		return f.value == int(m.at[i]) && f.place >= 0 && !slices.Contains(m.places[f.place].comp.Subjects, subject)
	})
}

// pronounLike tells a word that adds no other thing to a yes or a no.
func (m *message) pronounLike(w string) bool {
	switch w {
	case "it", "they", "he", "she", "i", "you", "sir", "boss", "man", "now", "not", "yet", "still", "just", "does", "did", "do", "is", "was", "has", "its", "it's",
		"really", "at", "all", "actually", "anymore", "any", "more", "again", "finally", "sure", "so", "far", "there", "here", "way", "that", "this":
		return true
	}
	return false
}

// noSuch reads "no ice": a no right before a state other than what a bare no
// would mean denies it.
func (m *message) noSuch(k int, state, noState string) bool {
	return k > 0 && m.chunks[k-1].small(wordBareNo) && m.chunks[k-1].last == m.chunks[k].first && state != noState
}

// acknowledges tells an "ok" that only says the message was read.
func (m *message) acknowledges(k int) bool {
	c := &m.chunks[k]
	if t := m.toks[c.first].text; c.last-c.first > 1 || t != "ok" && t != "okay" {
		return false
	}
	return c.first == 0 || m.toks[c.first-1].kind != wordToken
}

// speaksOfOther tells that the clause of a state word names another thing that is
// seen: "breaker holds" says nothing of the compressor.
func (m *message) speaksOfOther(k int, subject string) bool {
	for j := range m.chunks {
		comp := m.chunks[j].comp()
		if comp == nil || j == k || len(comp.Subjects) == 0 || slices.Contains(comp.Subjects, subject) {
			continue
		}
		lo, hi := min(j, k), max(j, k)
		if m.sameClause(m.chunks[lo].last, m.chunks[hi].first) && hi-lo <= 3 {
			return true
		}
	}
	return false
}

// leadsOn says whether a chunk's word may be a preposition here: a short one with
// more of the sentence behind it.
func (m *message) leadsOn(k int) bool {
	c := &m.chunks[k]
	return c.last-c.first <= 2 && len(m.toks[c.first].text) <= 3 && len(m.toks[c.last-1].text) <= 3 && c.last < len(m.toks) && m.toks[c.last].kind != markToken
}

// article says whether a noun starts at a token, or a word that stands for a place.
func (m *message) article(i int) bool {
	switch m.toks[i].text {
	case "the", "a", "an", "my", "his", "that", "this", "other", "one", "each", "me", "us", "hand", "site", "here", "there", "her", "their", "our", "your":
		return true
	}
	return false
}

// yesState is the state a bare yes to the question means.
func (m *message) yesState(o *knowledge.Observation) string {
	if m.ctx.Yes != "" {
		return m.ctx.Yes
	}
	if o.Yes != "" {
		return o.Yes
	}
	return o.Order[0]
}

// noState is the state a bare no to the question means.
func (m *message) noState(subject string, o *knowledge.Observation) string {
	if m.ctx.No != "" {
		return m.ctx.No
	}
	if o.No != "" && (m.ctx.Yes == "" || m.ctx.Yes == o.Yes) {
		return o.No
	}
	other := m.opposite(subject, m.yesState(o))
	if _, ok := o.States[other]; !ok && len(o.Order) > 1 {
		return o.Order[1]
	}
	return other
}

// answerFact reads a bare word or figure as the answer to an asked fact.
func (m *message) answerFact() {
	fact := m.ctx.AskedFact
	if fact == "" {
		return
	}
	for i := range m.out.Facts {
		if m.out.Facts[i].Fact == fact {
			return
		}
	}
	for _, a := range m.r.answers[fact] {
		for i := range m.toks {
			p := pattern{elems: a.elems}
			if x, ok := m.try(&p, i); ok && i < 6 {
				m.addFact(fact, a.value)
				m.spend(x.first, x.last, spent)
				return
			}
		}
	}
	if !m.r.factNumber[fact] {
		return
	}
	for k := range m.values {
		v := &m.values[k]
		if v.use == open && v.kind == figure && !m.placedAt(k) {
			v.use = spent
			if with := m.r.factWith[fact]; with != "" && v.pair >= 0 {
				b := &m.values[v.pair]
				b.use = spent
				m.addFact(fact, plain(max(v.v, b.v)))
				m.addFact(with, plain(min(v.v, b.v)))
				return
			}
			m.addFact(fact, plain(v.v))
			return
		}
	}
}
