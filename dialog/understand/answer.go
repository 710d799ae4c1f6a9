package understand

import "proveout/knowledge"

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
	for k := range m.chunks {
		if m.chunks[k].small(wordNo) || m.chunks[k].small(wordYes) {
			continue
		}
		for _, s := range m.chunks[k].means {
			if s.kind != isState && s.kind != isAnswer {
				continue
			}
			if m.leadsOn(k) && (len(m.found) > 0 || m.article(m.chunks[k].last)) {
				continue // "0 amps on the compressor": a preposition, not the answer
			}
			if st, ok := s.state.Of[subject]; ok && (len(m.out.Observations) == 0 || m.chunks[k].first < 3) {
				m.note(subject, st, m.negated(k))
				return
			}
		}
	}
	for k := range m.chunks {
		c := &m.chunks[k]
		switch {
		case k > 1:
			return
		case c.small(wordYes):
			m.addObservation(subject, m.yesState(o))
			return
		case c.small(wordNothing) && len(m.found) > 0:
			return // "zip at the coil" is a reading
		case c.small(wordNo), c.small(wordBareNo), c.small(wordNothing):
			m.addObservation(subject, m.noState(subject, o))
			return
		}
	}
}

// leadsOn says whether a chunk's word may be a preposition here: a short one with
// more of the sentence behind it.
func (m *message) leadsOn(k int) bool {
	c := &m.chunks[k]
	return c.last-c.first <= 1 && len(m.toks[c.first].text) <= 3 && c.last < len(m.toks) && m.toks[c.last].kind != markToken
}

// article says whether a noun starts at a token.
func (m *message) article(i int) bool {
	switch m.toks[i].text {
	case "the", "a", "an", "my", "his", "that", "this":
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
