package understand

import (
	"slices"
	"strconv"

	"proveout/knowledge"
)

func parse(s string) (float64, bool) {
	x, err := strconv.ParseFloat(s, 64)
	return x, err == nil
}

// share gives one value to several places said together: "y and the coil both
// 24", "0 at the coil and after the switch".
func (m *message) share(items []item) {
	byPlace := map[int]int{}
	for i := range m.found {
		if m.found[i].place >= 0 {
			byPlace[m.found[i].place] = m.found[i].value
		}
	}
	for i := range items {
		if items[i].value >= 0 {
			continue
		}
		p := items[i].place
		if _, ok := byPlace[p]; ok {
			continue
		}
		for _, j := range []int{i - 1, i + 1} {
			if j < 0 || j >= len(items) || items[j].value >= 0 {
				continue
			}
			v, ok := byPlace[items[j].place]
			lo, hi := min(i, j), max(i, j)
			if !ok || !m.together(items[lo].last, items[hi].first) || m.fitCost(v, p) > 0 || m.values[v].kind == nothing && !m.zeroAt(&m.values[v], &m.places[p]) {
				continue
			}
			// The value must stand on the far side of its own place.
			if far := m.values[v].first < items[lo].first == (j == lo) && (j == lo || m.values[v].first >= items[hi].last); !far {
				continue
			}
			if id, _ := m.pick(&m.values[v], &m.places[p]); id != "" && !m.has(id) {
				m.found = append(m.found, finding{value: v, place: p, id: id, rule: byShare})
				byPlace[p] = v
			}
			break
		}
	}
}

// together tells that only "and" and articles join two places.
func (m *message) together(from, to int) bool {
	seen := false
	for i := from; i < to; i++ {
		switch t := m.toks[i].text; {
		case t == "and" || t == "&" || t == "nor" || t == "or":
			seen = true
		case t == ",":
		case m.filler(i), t == "at", t == "on":
		default:
			return false
		}
	}
	return seen
}

// carry places a value that names only its unit at the place spoken of before:
// "coil 24 v and 14 ohms".
func (m *message) carry() {
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || m.placedAt(k) {
			continue
		}
		if v.units == nil && v.hint == "" {
			if id := m.besideItsRating(v); id != "" && m.ctx.Asked == "" {
				m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byRating})
			}
			continue
		}
		if id := m.onlyPoint(v); id != "" && !m.has(id) {
			m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byUnit})
			continue
		}
		if id := m.ratedAlone(v); id != "" && !m.has(id) {
			m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byRating})
			continue
		}
		slices.SortStableFunc(m.found, func(a, b finding) int { return a.value - b.value })
		for i := len(m.found) - 1; i >= 0; i-- {
			f := &m.found[i]
			if f.place < 0 || m.values[f.value].first > v.first || v.first-m.values[f.value].last > farthest || !m.sameSentence(m.values[f.value].last, v.first) {
				continue
			}
			if id, _ := m.pick(v, &m.places[f.place]); id != "" && !m.has(id) && m.usual(v, id) {
				m.found = append(m.found, finding{value: k, place: f.place, id: id, rule: byCarry})
			}
			break
		}
		m.carryBack(k)
	}
}

// carryBack places a value with a unit at the place named right after it that
// took another: "118 psi, 42 degrees on the vapor line".
func (m *message) carryBack(k int) {
	v := &m.values[k]
	if v.units == nil || m.placedAt(k) {
		return
	}
	for i := range m.found {
		f := &m.found[i]
		next := &m.values[f.value]
		if f.place < 0 || next.first < v.last || next.first-v.last > 2 || m.places[f.place].first < next.first {
			continue
		}
		if id, _ := m.pick(v, &m.places[f.place]); id != "" && !m.has(id) && m.usual(v, id) {
			m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byCarry})
		}
		return
	}
}

// onlyPoint is the one reading a unit can be of: "1,200 cfm".
func (m *message) onlyPoint(v *value) knowledge.ReadingID {
	if len(v.units) != 1 || v.unitText == "%" || v.unitText == "percent" {
		return ""
	}
	return m.r.only[v.units[0].quantity]
}

// ratedAlone places a capacitance without a name by the ratings known.
func (m *message) ratedAlone(v *value) knowledge.ReadingID {
	if v.units == nil {
		return ""
	}
	for _, c := range m.r.falling {
		if hasQuantity(v.units, c.Both[0].Quantity()) {
			return m.nearRating(v, c.Both)
		}
	}
	return ""
}

// ofAnother tells a bare figure that stands right behind the word for another
// quantity: "pressure, 295".
func (m *message) ofAnother(v *value, quantity string) bool {
	last := m.chunkBefore(v.first)
	for i := last; i >= 0 && i > last-4 && m.sameSentence(m.chunks[i].first, v.first); i-- {
		if q := m.chunks[i].quantity(); q != "" {
			return q != quantity && q != "temperature"
		}
		if m.chunks[i].ofTheTrade() {
			return false
		}
	}
	return false
}

// answer lets an unplaced value answer what was asked.
func (m *message) answer() {
	m.answerObservation()
	m.answerFact()
	m.answerByFigure()
	if m.ctx.Asked == "" {
		return
	}
	defer m.answerBeside()
	if m.has(m.ctx.Asked) {
		return
	}
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.barred || m.placedAt(k) || m.seenInstead(v) || m.saidAgain(v) || !m.admits(v, nil, m.ctx.Asked) || v.weak && len(m.values) > 1 {
			continue
		}
		if v.units == nil && (len(m.found) > 0 && !m.usual(v, m.ctx.Asked) || m.ofAnother(v, m.ctx.Asked.Quantity())) {
			continue
		}
		m.found = append(m.found, finding{value: k, place: -1, id: m.ctx.Asked, rule: byAsked})
		return
	}
	m.answerBeside()
	if len(m.found) == 0 && len(m.doubts) == 0 {
		m.answerByWord()
	}
}

// answerByFigure places a figure with its unit at the point the thing asked about
// is measured at: "57 degrees" when asked how the air feels.
func (m *message) answerByFigure() {
	for _, id := range m.r.measured[m.ctx.AskedObservation] {
		for k := range m.values {
			v := &m.values[k]
			if v.use == open && v.units != nil && !m.placedAt(k) && m.admits(v, nil, id) && m.usual(v, id) && !m.has(id) {
				m.found = append(m.found, finding{value: k, place: -1, id: id, rule: bySighting})
				return
			}
		}
	}
}

// answerBeside places a value of another quantity at the point that was asked
// for: ohms of the coil whose volts were asked.
func (m *message) answerBeside() {
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.units == nil || m.placedAt(k) {
			continue
		}
		for _, u := range v.units {
			id := knowledge.ReadingID(u.quantity + "/" + m.ctx.Asked.Point())
			if m.r.base.Measurements[id] != nil && !m.has(id) {
				m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byAskedPoint})
				break
			}
		}
	}
}

// answerByWord reads "no", "still", "yes", "hot" as the answer to an asked reading.
func (m *message) answerByWord() {
	if len(m.intents) > 0 {
		return
	}
	electrical := m.ctx.Asked.Quantity() == "voltage"
	for i := range m.chunks {
		c := &m.chunks[i]
		switch {
		case c.small(wordBareNo) && i == 0 && electrical && len(m.out.Observations) == 0 && m.shortAnswer():
			v := exact(c.first, c.last, 0)
			v.kind, v.pair = nothing, -1
			m.values = append(m.values, v)
			m.found = append(m.found, finding{value: len(m.values) - 1, place: -1, id: m.ctx.Asked, rule: byAsked})
			return
		case c.small(wordSame) && m.shortAnswer() && len(m.out.Observations) == 0 && m.repeat(c):
			return
		case c.small(wordYes) && i == 0 && len(m.out.Observations) == 0 || c.small(wordPresent) || m.judged(i):
			m.out.Present = append(m.out.Present, m.ctx.Asked)
			return
		}
	}
}

// judged tells an answer that calls a reading good and does not give it.
func (m *message) judged(k int) bool {
	c := &m.chunks[k]
	if _, rel := c.rel(); rel || c.first > 2 || !m.shortAnswer() || len(m.places) > 0 || len(m.out.Observations) > 0 || m.acknowledges(k) || !m.setOff(c.last, "") {
		return false
	}
	return slices.ContainsFunc(m.chunks[k].means, func(s meaning) bool { return s.kind == isAnswer && s.state.name == "answer-well" })
}

func (m *message) shortAnswer() bool { return len(m.toks) <= 6 }

// repeat takes the last value of what was asked again: "still the same".
func (m *message) repeat(c *chunk) bool {
	for i := len(m.ctx.Earlier) - 1; i >= 0; i-- {
		e := &m.ctx.Earlier[i]
		if e.Reading != m.ctx.Asked {
			continue
		}
		again := *e
		again.Text, again.Said = m.text[m.toks[c.first].start:m.toks[c.last-1].end], ""
		m.out.Readings = append(m.out.Readings, again)
		return true
	}
	return false
}

// againFromRecord reads "18 again" as the earlier reading that was 18.
func (m *message) againFromRecord(k int) bool {
	v := &m.values[k]
	said := false
	for _, i := range []int{v.first - 1, v.last} {
		if i >= 0 && i < len(m.toks) && m.chunkOf[i] >= 0 {
			said = said || m.chunks[m.chunkOf[i]].small(wordSame)
		}
	}
	for i := len(m.ctx.Earlier) - 1; said && i >= 0; i-- {
		if e := &m.ctx.Earlier[i]; float64(e.Value) == v.v && m.admits(v, nil, e.Reading) && !m.has(e.Reading) {
			m.reading(&finding{value: k, place: -1, id: e.Reading, rule: byRecord})
			return true
		}
	}
	return false
}

// unplaced turns figures nobody placed into questions.
func (m *message) unplaced() {
	for k := range m.values {
		v := &m.values[k]
		if v.use == open && v.kind == figure && !m.placedAt(k) && m.againFromRecord(k) {
			continue
		}
		if v.use != open || v.weak || v.again || m.placedAt(k) {
			continue
		}
		if v.kind != figure {
			if v.kind == nothing && m.askedQuantity("resistance") && len(m.found) == 0 && m.shortAnswer() && len(m.out.Observations) == 0 {
				m.out.Unclear = append(m.out.Unclear, Unclear{Text: m.figureText(v), Options: []string{string(m.ctx.Asked)}})
			}
			continue
		}
		if len(m.places) == 0 && m.ctx.Asked == "" && len(m.intents) == 0 && m.chatter(v) {
			m.passed = append(m.passed, k)
			continue
		}
		// What no reading could be counts something else.
		options := m.options(k)
		if id := m.onlyOption(v, options); id != "" {
			m.reading(&finding{value: k, place: -1, id: id, rule: byUnit})
			continue
		}
		if len(options) > 0 {
			m.out.Unclear = append(m.out.Unclear, Unclear{Text: m.figureText(v), Options: options})
		}
	}
}

// options are the two or three likeliest readings of a figure nobody placed.
func (m *message) options(k int) []string {
	v := &m.values[k]
	out := []string{}
	add := func(id knowledge.ReadingID) {
		if slices.Contains(out, string(id)) {
			return
		}
		if len(out) < 3 {
			out = append(out, string(id))
		}
	}
	if m.ctx.Asked != "" && !v.barred && m.admits(v, nil, m.ctx.Asked) && !m.ofAnother(v, m.ctx.Asked.Quantity()) {
		add(m.ctx.Asked)
	}
	if id := m.inRow(k); id != "" {
		add(id)
	}
	order := []string{"voltage", "pressure", "temperature", "current", "capacitance", "resistance", "superheat", "static-pressure"}
	for round := range 3 {
		for _, q := range order {
			if v.units == nil && m.ofAnother(v, q) || v.units != nil && !hasQuantity(v.units, q) || v.units == nil && v.hint != "" && v.hint != q {
				continue
			}
			n := 0
			for _, id := range m.r.guesses[q] {
				if !m.usual(v, id) {
					continue
				}
				if n == round || v.units != nil || v.hint != "" {
					add(id)
				}
				n++
			}
		}
	}
	if len(out) == 0 || len(out) == 1 && m.onlyOption(v, out) == "" {
		q := v.saidQuantity()
		if len(out) == 1 {
			q = knowledge.ReadingID(out[0]).Quantity()
		}
		for _, id := range m.r.guesses[q] {
			add(id)
		}
	}
	return out
}

// inRow is what a figure is likeliest to be of two in a row that no place was said for
// and that fit a pair of readings usually given so, "62 and 190", or "".
func (m *message) inRow(k int) knowledge.ReadingID {
	for _, first := range []int{k - 1, k} {
		if first < 0 || first+1 >= len(m.values) || len(m.r.rows) == 0 {
			continue
		}
		a, b := &m.values[first], &m.values[first+1]
		if a.use != open || b.use != open || a.kind != figure || b.kind != figure || m.placedAt(first) || m.placedAt(first+1) || !m.joined(a.last, b.first) {
			continue
		}
		lo, hi, row := a, b, m.r.rows[0]
		if lo.v > hi.v {
			lo, hi = hi, lo
		}
		if !m.admits(lo, nil, row[0]) || !m.admits(hi, nil, row[1]) || !m.usual(lo, row[0]) || !m.usual(hi, row[1]) {
			continue
		}
		if &m.values[k] == lo {
			return row[0]
		}
		return row[1]
	}
	return ""
}
