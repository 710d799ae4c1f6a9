package understand

import (
	"slices"

	"proveout/knowledge"
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
		if c.hasState() {
			lastState = k
		}
		if !c.hasState() || m.claimed[c.first] || m.usedAsRelation(k) {
			continue
		}
		if v := m.at[c.first]; v >= 0 && m.values[v].kind != figure && m.placedAt(int(v)) {
			continue
		}
		m.stateAt(k)
	}
	m.mentioned()
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
	case "is", "does", "are", "do", "was":
	default:
		return false
	}
	if c.last-c.first > 1 || k == 0 || m.chunks[k-1].comp() == nil || m.chunks[k-1].last != c.first {
		return false
	}
	return c.last >= len(m.toks) || m.toks[c.last].kind != wordToken && m.toks[c.last].kind != numberToken
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
	if _, ok := c.rel(); !ok {
		return false
	}
	for i := range m.found {
		if f := &m.found[i]; f.place >= 0 && m.places[f.place].first <= c.first && c.last <= m.places[f.place].last {
			return true
		}
	}
	if k > 0 && m.chunks[k-1].comp() != nil && m.onlyFiller(m.chunks[k-1].last, c.first) && m.says(k, m.subjectsOf(&m.chunks[k-1])) {
		return false
	}
	return m.nextComponent(k) >= 0 && m.chunks[k].last-m.chunks[k].first == 1
}

// stateAt places the state word of chunk k.
func (m *message) stateAt(k int) {
	subjects := m.subjectsBefore(k)
	if len(subjects) == 0 || !m.says(k, subjects) {
		if after := m.subjectsAfter(k); len(after) > 0 && m.says(k, after) && !m.chunks[k].small(wordFiller) {
			subjects = after
		}
	}
	if len(subjects) == 0 {
		subjects = m.subjectCarried(k)
	}
	negated := m.negated(k)
	done := false
	for _, s := range m.chunks[k].means {
		if s.kind != isState {
			continue
		}
		for _, subject := range subjects {
			if st, ok := s.state.Of[subject]; ok && !m.contradicts(subject) {
				m.note(subject, st, negated)
				done = true
			}
		}
	}
	if done {
		return
	}
	for _, s := range m.chunks[k].means {
		if s.kind == isState && s.state.Alone != "" {
			m.note(s.state.Alone, s.state.Of[s.state.Alone], negated)
			return
		}
	}
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
			if s := m.subjectsOf(c); m.says(k, s) {
				return s
			}
			return nil
		}
	}
	return nil
}

// contradicts keeps a second state word of the same kind from overwriting.
func (m *message) contradicts(subject string) bool {
	_ = subject
	return false
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
	if m.neither(k) {
		return true
	}
	i := m.chunks[k].first - 1
	for steps := 0; steps < 3 && i >= 0; steps++ {
		if c := m.chunkOf[i]; c >= 0 {
			ch := &m.chunks[c]
			if ch.small(wordNot) || (ch.small(wordBareNo) || ch.small(wordNothing)) && ch.last == m.chunks[k].first && !m.chunks[k].small(wordNothing) {
				return true
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
		subjects := m.subjectsOf(c)
		if !m.says(k, subjects) {
			continue
		}
		return append(m.joinedBefore(j), subjects...)
	}
	return nil
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
	for j := k + 1; j < len(m.chunks) && j <= k+4; j++ {
		c := &m.chunks[j]
		if !m.sameClause(m.chunks[k].last, c.first) || c.first-m.chunks[k].last > 3 {
			return nil
		}
		if comp := c.comp(); comp != nil && len(comp.Subjects) > 0 && m.says(k, m.subjectsOf(c)) {
			out := m.subjectsOf(c)
			if j+2 < len(m.chunks) && m.chunks[j+2].comp() != nil && m.together(c.last, m.chunks[j+2].first) && !m.stateFollows(j+2) {
				out = append(slices.Clone(out), m.subjectsOf(&m.chunks[j+2])...)
			}
			return out
		}
		if c.hasState() && !c.small(wordFiller) && c.comp() == nil {
			return nil
		}
	}
	return nil
}

// stateFollows tells whether a component has a state word of its own behind it.
func (m *message) stateFollows(j int) bool {
	return j+1 < len(m.chunks) && m.chunks[j+1].hasState() && m.sameClause(m.chunks[j].last, m.chunks[j+1].first)
}

// subjectsOf are a component's subjects; a lone fan is settled by place.
func (m *message) subjectsOf(c *chunk) []string {
	comp := c.comp()
	if !comp.Apart || len(comp.Subjects) < 2 {
		return comp.Subjects
	}
	place := m.placeNear(c.first, c.last, comp)
	switch place {
	case "outdoor":
		return comp.Subjects[:1]
	case "indoor":
		return comp.Subjects[1:2]
	}
	return nil
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
	return m.ctx.Place
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
		for _, s := range m.chunks[k].means {
			if s.kind != isState {
				continue
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
			m.addObservation(subject, yesState(o))
			return
		case c.small(wordNo), c.small(wordBareNo), c.small(wordNothing):
			m.addObservation(subject, m.noState(subject, o))
			return
		}
	}
}

// yesState is the state a bare yes to the question means.
func yesState(o *knowledge.Observation) string {
	if o.Yes != "" {
		return o.Yes
	}
	return o.Order[0]
}

// noState is the state a bare no to the question means.
func (m *message) noState(subject string, o *knowledge.Observation) string {
	if o.No != "" {
		return o.No
	}
	other := m.opposite(subject, yesState(o))
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
			m.addFact(fact, plain(v.v))
			return
		}
	}
}
