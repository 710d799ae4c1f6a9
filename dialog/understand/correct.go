package understand

import (
	"math"
	"slices"

	"proveout/knowledge"
)

// correct carries out what the message takes back: within it only the final
// value counts; with nothing before, it reaches back into the record.
func (m *message) correct() {
	slices.SortStableFunc(m.found, func(a, b finding) int { return m.values[a.value].first - m.values[b.value].first })
	m.strike()
	m.noNominal()
	m.recount()
	for k := range m.chunks {
		c := &m.chunks[k]
		if m.intents["undo"] && m.valueAfter(c.last) < 0 {
			continue
		}
		if c.small(wordCorrectStrong) || m.noInstead(c) || c.small(wordCorrect) && m.saysThat(c) || c.small(wordCorrect) && m.correctsHere(c) {
			m.intent("correct")
			if m.valueAfter(c.last) >= 0 {
				delete(m.intents, "undo") // it is replaced, not only taken back
			}
			m.takeBack(c)
			continue
		}
		if next := m.valueAfter(c.last); c.small(wordNow) && next >= 0 && !m.placedAt(next) && m.values[next].first-c.last <= 3 && m.findingBefore(c.first) >= 0 {
			m.takeBack(c)
		}
	}
	m.overtaken()
	m.lastCounts()
}

// strike reads "26 not 16" and "not 16, 26": the denied figure is no reading.
func (m *message) strike() {
	for k := range m.values {
		v := &m.values[k]
		if v.kind != figure || v.use != open || !m.denied(v.first) && !m.mistold(v.first) {
			continue
		}
		other := -1
		for _, j := range []int{k - 1, k + 1} {
			if j >= 0 && j < len(m.values) && m.values[j].kind == figure && (m.values[j].use == open || m.doubted(j)) && m.near(j, k) {
				other = j
				break
			}
		}
		if other < 0 {
			continue
		}
		v.use = struck
		m.intent("correct")
		m.moveFinding(k, other)
		m.fromRecord(other, v.v)
	}
}

func (m *message) denied(i int) bool {
	if m.isWord(i-1, "is") {
		i-- // "no es 16", in English words
	}
	for back := 1; back <= 2; back++ {
		for _, x := range m.smallAt(i-back, i) {
			if x.word == wordNot {
				return true
			}
		}
	}
	return false
}

// mistold tells a figure named as the one told by mistake: "24 at y, i typed 42". What
// somebody said is wrong only where the message takes something back.
func (m *message) mistold(i int) bool {
	for back := 1; back <= 3; back++ {
		for _, x := range m.smallAt(i-back, i) {
			if x.word == wordMistold {
				return m.isWord(i-1, "of") || m.isWord(i-1, "than") || m.isWord(i-1, "de") || slices.ContainsFunc(m.chunks, func(c chunk) bool {
					return c.small(wordCorrect) || c.small(wordCorrectStrong)
				})
			}
		}
	}
	return false
}

// doubted tells a figure that is asked about.
func (m *message) doubted(k int) bool {
	return slices.ContainsFunc(m.doubts, func(d doubted) bool { return d.value == k })
}

func (m *message) near(a, b int) bool {
	x, y := &m.values[a], &m.values[b]
	if x.first > y.first {
		x, y = y, x
	}
	return y.first-x.last <= 8 && m.sameSentence(x.last, y.first)
}

// moveFinding gives the place of a struck value to the one that replaces it.
func (m *message) moveFinding(from, to int) {
	for i := range m.found {
		f := &m.found[i]
		if f.value != from || f.gone {
			continue
		}
		if m.placedAt(to) {
			f.gone = true
		} else {
			f.value = to
		}
	}
	m.sweep()
}

func (m *message) sweep() {
	m.found = slices.DeleteFunc(m.found, func(f finding) bool { return f.gone })
}

// fromRecord finds the earlier reading whose value was taken back.
func (m *message) fromRecord(k int, wrong float64) {
	if m.placedAt(k) {
		return
	}
	for i := len(m.ctx.Earlier) - 1; i >= 0; i-- {
		if e := &m.ctx.Earlier[i]; float64(e.Value) == wrong && m.admits(&m.values[k], nil, e.Reading) {
			m.found = append(m.found, finding{value: k, place: -1, id: e.Reading, rule: byRecord})
			return
		}
	}
}

// correctsHere tells whether a weak word ("wait", "actually") takes something
// back: a value follows closely and there is one to replace.
func (m *message) correctsHere(c *chunk) bool {
	next := m.valueAfter(c.last)
	return next >= 0 && m.values[next].first-c.last <= 4 && (m.findingBefore(c.first) >= 0 || m.doubtBefore(c.first) || m.ctx.Asked != "" || len(m.ctx.Earlier) > 0)
}

func (m *message) doubtBefore(tok int) bool {
	for _, d := range m.doubts {
		if m.values[d.value].first < tok {
			return true
		}
	}
	return false
}

func (m *message) valueAfter(i int) int {
	for k := range m.values {
		if v := &m.values[k]; v.first >= i && v.use == open {
			return k
		}
	}
	return -1
}

func (m *message) findingBefore(tok int) int {
	for i, v := range slices.Backward(m.found) {
		if m.values[v.value].first < tok && !v.gone {
			return i
		}
	}
	return -1
}

// takeBack applies one correction word.
func (m *message) takeBack(c *chunk) {
	before := m.findingBefore(c.first)
	next := m.valueAfter(c.last)
	if next >= 0 && m.placedAt(next) {
		m.replaceNamed(before, next, c)
		return
	}
	if next >= 0 && m.values[next].first-c.last <= 8 {
		if before >= 0 {
			f := m.found[before]
			m.found[before].gone = true
			m.values[f.value].use = struck
			m.found = append(m.found, finding{value: next, place: f.place, id: f.id, rule: byCorrection})
			m.sweep()
			return
		}
		if m.instead(c.first, next) {
			return
		}
		m.strikeLoose(c.first)
		m.fromTalk(next)
		return
	}
	if before >= 0 {
		m.retarget(before, c)
		return
	}
	m.renameEarlier(c)
}

// instead puts a corrected value where the one before it was in doubt: "the
// suction is 68, hold on, 118".
func (m *message) instead(tok, next int) bool {
	for i, d := range slices.Backward(m.doubts) {

		if m.values[d.value].first >= tok || d.place < 0 {
			continue
		}
		m.doubts = slices.Delete(m.doubts, i, i+1)
		m.values[d.value].use = struck
		m.put(next, d.place)
		return true
	}
	return false
}

// renameEarlier moves the last reading of the record to the place a correction
// names: "I meant suction".
func (m *message) renameEarlier(c *chunk) {
	n := len(m.ctx.Earlier)
	if n == 0 {
		return
	}
	again := m.ctx.Earlier[n-1]
	for pi := range m.places {
		p := &m.places[pi]
		if p.first < c.last || p.first-c.last > 4 {
			continue
		}
		for _, id := range append(slices.Clone(p.ids), p.comp.Also...) {
			if id.Quantity() == again.Reading.Quantity() {
				if id != again.Reading {
					m.takenBack(again.Reading)
				}
				again.Reading, again.Said = id, ""
				again.Text = m.text[m.toks[p.first].start:m.toks[p.last-1].end]
				m.out.Readings = append(m.out.Readings, again)
				return
			}
		}
	}
}

// hasBefore tells whether a reading was given before, other than by two values.
func (m *message) hasBefore(id knowledge.ReadingID, not, next int) bool {
	for i := range m.found {
		if f := &m.found[i]; f.id == id && f.value != not && f.value != next && m.values[f.value].first < m.values[next].first {
			return true
		}
	}
	return false
}

// noInstead reads "24 at the coil, no 27".
func (m *message) noInstead(c *chunk) bool {
	next := m.valueAfter(c.last)
	before := m.findingBefore(c.first)
	at := c.last
	if m.tok(at).text == "," {
		at++
	}
	return c.small(wordBareNo) && next >= 0 && before >= 0 && m.values[next].first == at && !m.placedAt(next) && m.values[next].units == nil &&
		m.sameSentence(m.values[m.found[before].value].last, c.first)
}

// noNominal reads "coil reads 14 volts, no 24": behind a figure that is far from it
// at a point that can have it, "no 24" puts the figure right. Elsewhere it says that
// there is none.
func (m *message) noNominal() {
	for k := range m.values {
		v := &m.values[k]
		if v.kind != nothing || v.like == 0 || v.use != open || m.placedAt(k) || !m.isWord(v.first, "no") {
			continue
		}
		before := m.findingBefore(v.first)
		if before < 0 {
			continue
		}
		f := &m.found[before]
		was := &m.values[f.value]
		if was.kind != figure || was.v == 0 || math.Abs(was.v-v.like) <= v.like/4 || v.first-was.last > 1 || !m.usual(v, f.id) {
			continue
		}
		for j := range m.values {
			if x := &m.values[j]; x.kind == figure && x.use == aside && x.first > v.first && x.last <= v.last {
				x.use, v.use = open, struck
				m.intent("correct")
				was.use, f.value = struck, j
				break
			}
		}
	}
}

// saysThat reads "wait, that's on the y": the last value belongs elsewhere.
func (m *message) saysThat(c *chunk) bool {
	i := c.last
	if m.tok(i).text == "," {
		i++
	}
	if m.isWord(c.first, "should") {
		next := m.chunkAt(i)
		return next != nil && next.comp() != nil && m.findingBefore(c.first) >= 0
	}
	t := m.tok(i).text
	return (t == "that's" || t == "thats" || t == "that" || t == "those" || t == "it's") && m.findingBefore(c.first) >= 0
}

// overtaken strikes a figure nobody placed when the sentence goes on to what it
// is now: "earlier it was 24, now it's 0 at the coil".
func (m *message) overtaken() {
	for k := 0; k+1 < len(m.values); k++ {
		v, next := &m.values[k], &m.values[k+1]
		if v.kind != figure || v.use != open || m.placedAt(k) || next.use == aside || next.first-v.last > 6 {
			continue
		}
		for i := v.last; i < next.first; i++ {
			if c := m.chunkOf[i]; m.toks[i].text == "then" || c >= 0 && m.chunks[c].small(wordNow) {
				v.use = struck
			}
		}
	}
}

// strikeLoose drops unplaced figures before a correction.
func (m *message) strikeLoose(tok int) {
	for k := range m.values {
		if v := &m.values[k]; v.first < tok && v.use == open && !m.placedAt(k) {
			v.use = struck
		}
	}
}

// fromTalk gives a corrected value without a name to what was asked, or to the
// last reading in the record.
func (m *message) fromTalk(k int) {
	if m.ctx.Asked != "" {
		return // answer() places it
	}
	if n := len(m.ctx.Earlier); n > 0 && m.admits(&m.values[k], nil, m.ctx.Earlier[n-1].Reading) {
		m.found = append(m.found, finding{value: k, place: -1, id: m.ctx.Earlier[n-1].Reading, rule: byRecord})
	}
}

// replaceNamed drops the reading before a correction that names its own place.
func (m *message) replaceNamed(before, next int, c *chunk) {
	if before < 0 {
		m.strikeLoose(c.first)
		return
	}
	f := &m.found[before]
	for i := range m.found {
		g := &m.found[i]
		if g.value != next {
			continue
		}
		if m.hasBefore(g.id, f.value, next) {
			break // the reading taken back is an earlier one: lastCounts drops it
		}
		same := g.id == f.id || m.values[f.value].v == m.values[next].v
		if same || c.small(wordCorrectStrong) && m.values[next].first-c.last <= 6 {
			f.gone = true
			m.values[f.value].use = struck
		}
		break
	}
	m.sweep()
}

// retarget moves the last value to the place named after the correction: "118
// liquid, I mean suction".
func (m *message) retarget(before int, c *chunk) {
	f := &m.found[before]
	for pi := range m.places {
		p := &m.places[pi]
		if p.first < c.last || p.first-c.last > 5 {
			continue
		}
		if id, _ := m.pick(&m.values[f.value], p); id != "" {
			f.id, f.place = id, pi
			return
		}
		if ids := m.possible(&m.values[f.value], p); len(ids) > 0 {
			for _, id := range ids {
				if id.Quantity() == f.id.Quantity() {
					f.id, f.place = id, pi
					return
				}
			}
		}
	}
}

// lastCounts keeps the last of several values at one point in one state.
func (m *message) lastCounts() {
	slices.SortStableFunc(m.found, func(a, b finding) int { return m.values[a.value].first - m.values[b.value].first })
	last := map[string]int{}
	for i := range m.found {
		key := string(m.found[i].id) + " " + m.stateOf(&m.found[i])
		if j, ok := last[key]; ok {
			m.found[j].gone = true
			m.values[m.found[j].value].use = struck
		}
		last[key] = i
	}
	m.sweep()
}
