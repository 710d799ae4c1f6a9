package understand

import (
	"math"
	"slices"
)

// unitAfter takes the unit said right behind a figure.
func (m *message) unitAfter(v *value) {
	if v.use == aside {
		return
	}
	i := v.figureEnd
	if m.tok(i).text == "-" && m.unitLike(i+1) && m.tok(i).glued {
		i++
	}
	us, end := m.r.units.longest(m.toks, i, m.in)
	if end == i || !m.unitStands(i, end) {
		return
	}
	v.units = m.r.unitLists[us[0].index]
	v.last = end
	v.unitText = m.text[m.toks[i].start:m.toks[end-1].end]
}

// unitStands refuses a letter that is no unit here: "24 c" names a terminal, "a"
// is an article before a noun.
func (m *message) unitStands(i, end int) bool {
	t := m.tok(i)
	if end-i > 1 || t.kind != wordToken || len(t.text) > 2 || t.glued {
		return true
	}
	if len(t.text) == 2 && t.text != "in" {
		return true
	}
	switch t.text {
	case "v":
		return true
	case "in", "s", "h", "m", "g":
		return false
	case "c":
		t := m.tok(end)
		return t.kind == lineToken || t.text == "," || t.text == "." || t.text == ")" || t.text == ";" || m.inCelsius()
	}
	next := m.tok(end)
	return t.text == "f" && m.warm(end) || next.kind != wordToken || m.r.closes[next.id]
}

// warm tells that what stands next is read in degrees: "95 f outside".
func (m *message) warm(i int) bool {
	for i < len(m.toks) && (m.filler(i) || m.isWord(i, "in") || m.isWord(i, "on") || m.isWord(i, "at")) {
		i++
	}
	ms, _ := m.r.phrases.longest(m.toks, i, m.in)
	return slices.ContainsFunc(ms, func(x meaning) bool {
		return x.kind == isComponent && len(x.comp.At) > 0 && x.comp.At[0].Quantity() == "temperature"
	})
}

// inCelsius tells that the message says which degrees it is in.
func (m *message) inCelsius() bool {
	return slices.ContainsFunc(m.toks, func(t token) bool { return t.text == "celsius" || t.text == "centigrade" || t.text == "centigrados" })
}

// ranges joins the two ends of a range into one value: "22-26", "22 to 26",
// "between 22 and 26".
func (m *message) ranges() {
	for k := 0; k+1 < len(m.values); k++ {
		a, b := &m.values[k], &m.values[k+1]
		if a.use != open || b.use != open || a.kind != figure {
			continue
		}
		if m.movedFrom(a, b) {
			a.use = struck
			continue
		}
		lifted, bounce, start := m.lifted(a.first)
		if !m.rangeJoin(a, b, lifted) {
			continue
		}
		a.low, a.high = math.Min(a.v, b.v), math.Max(a.v, b.v)
		a.v, a.approx = (a.low+a.high)/2, true
		a.bounce = bounce
		if a.units == nil {
			a.units, a.unitText = b.units, b.unitText
		}
		a.first, a.figureStart, a.last, a.figureEnd = start, start, b.last, b.figureEnd
		m.values = append(m.values[:k+1], m.values[k+2:]...)
		m.renumber(k)
	}
}

func (m *message) renumber(from int) {
	for k := from; k < len(m.values); k++ {
		for j := m.values[k].first; j < m.values[k].last; j++ {
			m.at[j] = int32(k)
		}
	}
}

// movedFrom reads "went from 410 to 350": the first figure is past.
func (m *message) movedFrom(a, b *value) bool {
	if b.first-a.last != 1 || !m.isWord(a.last, "to") || !m.isWord(a.first-1, "from") {
		return false
	}
	return m.r.moved[m.tok(a.first-2).id]
}

// lifted looks for "between" or "from" before a figure.
func (m *message) lifted(i int) (found, bounce bool, start int) {
	for back := 1; back <= 4 && i-back >= 0; back++ {
		ms, end := m.r.small.longest(m.toks, i-back, m.in)
		for _, x := range ms {
			if end == i && x.word == wordLift {
				found, start = true, i-back
			}
			if end == i && x.word == wordBounce {
				bounce = true
			}
		}
	}
	if !found {
		start = i
	}
	return found, bounce, start
}

func (m *message) rangeJoin(a, b *value, lifted bool) bool {
	if b.first-a.last != 1 {
		return false
	}
	t := m.tok(a.last)
	alike := a.v < b.v && b.v <= a.v*1.6+2 && a.units == nil
	switch t.text {
	case "-":
		return alike && t.glued && m.tok(a.last+1).glued || lifted
	case "to":
		if m.isWord(a.first-1, "from") && !lifted {
			return false
		}
		return alike || lifted && b.v > a.v && !m.isWord(a.first-1, "from")
	case "or":
		return alike && b.v-a.v <= 0.15*b.v+1
	case "and":
		return lifted && !m.isWord(a.first-1, "from")
	}
	return false
}

// modifiers reads what stands around a figure: a minus, "about", "high 70s",
// "24ish", and pairs "118 over 410", "118/410".
func (m *message) modifiers() {
	for k := range m.values {
		v := &m.values[k]
		if v.use != open {
			continue
		}
		m.sign(v)
		m.decade(v)
		m.vague(v)
		if k > 0 && m.surer(&m.values[k-1], v) {
			m.values[k-1].use = struck
		}
		if k+1 < len(m.values) && m.values[k+1].use == open && m.pairJoin(v, &m.values[k+1]) && (k == 0 || m.values[k-1].pair != k) {
			v.pair = k + 1
		}
	}
	m.renumber(0)
}

// surer tells a guess that is narrowed down at once: "sixty something? say 62".
func (m *message) surer(v, next *value) bool {
	return v.use == open && v.approx && next.v >= v.low && next.v <= v.high && next.v != v.v && (m.isWord(next.first, "say") || m.isWord(next.first, "call"))
}

func (m *message) sign(v *value) {
	i := v.first - 1
	minus := m.tok(i).text == "-" && m.tok(v.first).glued && !m.tok(i).glued && (i == 0 || m.tok(i-1).kind != numberToken)
	if !minus {
		minus = m.isWord(i, "minus") || m.isWord(i, "negative")
	}
	if minus {
		v.v, v.low, v.high = -v.v, -v.high, -v.low
		v.first = i
	}
}

// decade reads "high 70s", "mid seventies", "the 70s", "sixty something".
func (m *message) decade(v *value) {
	plural := m.isWord(v.figureEnd, "s") && m.tok(v.figureEnd).glued || m.isWord(v.figureEnd, "something")
	if plural {
		v.figureEnd++
		v.last = max(v.last, v.figureEnd)
	}
	t := m.tok(v.first)
	plural = plural || t.kind == wordToken && v.figureEnd-v.first == 1 && len(t.text) > 4 && t.text[len(t.text)-3:] == "ies" && v.v >= 20
	if !plural || math.Mod(v.v, 10) != 0 {
		return
	}
	low, high := v.v, v.v+10
	for _, w := range []string{"the", "in", "somewhere"} {
		if m.isWord(v.first-1, w) {
			v.first--
		}
	}
	for _, x := range m.smallAt(v.first-1, v.first) {
		switch x.word {
		case wordHigh:
			low, v.first = v.v+5, v.first-1
		case wordLow:
			high, v.first = v.v+5, v.first-1
		case wordMid:
			low, high, v.first = v.v+2.5, v.v+7.5, v.first-1
		default: // no part of a decade
		}
	}
	v.low, v.high, v.v, v.approx = low, high, (low+high)/2, true
	v.units, v.unitText = nil, ""
}

// smallAt gives the small words spanning exactly tokens [i, end).
func (m *message) smallAt(i, end int) []meaning {
	if i < 0 {
		return nil
	}
	ms, e := m.r.small.longest(m.toks, i, m.in)
	if e != end {
		return nil
	}
	return ms
}

// marks tells that a small word stands at a token, whatever phrase it may begin.
func (m *message) marks(i int, w smallWord) bool {
	n := m.r.small.next[m.tok(i).id]
	return n != nil && slices.ContainsFunc(n.here, func(x meaning) bool { return x.word == w && x.in&m.in != 0 })
}

func (m *message) vague(v *value) {
	// The longest phrase before the figure decides: "looks like 62" is no guess.
	for back := 4; back > 0 && !v.approx; back-- {
		ms := m.smallAt(v.first-back, v.first)
		for _, x := range ms {
			if x.word == wordAbout && !m.verbSay(v.first-back, back) {
				v.approx, v.first = true, v.first-back
				break
			}
		}
		if ms != nil {
			break
		}
	}
	if m.tok(v.last).text == "ish" || m.tok(v.last).text == "-" && m.tok(v.last+1).text == "ish" {
		v.approx = true
		v.last++
		if m.tok(v.last).text == "ish" {
			v.last++
		}
		m.unitAfterIsh(v)
		return
	}
	ms, end := m.r.small.longest(m.toks, v.last, m.in)
	for _, x := range ms {
		if x.word == wordIsh {
			v.approx, v.last = true, end
			return
		}
	}
}

// verbSay tells the "say" of "gauges say 55", which guesses nothing, from that of
// "say 55".
func (m *message) verbSay(i, words int) bool {
	return words == 1 && m.toks[i].text == "say" && m.tok(i-1).kind == wordToken
}

func (m *message) unitAfterIsh(v *value) {
	if us, end := m.r.units.longest(m.toks, v.last, m.in); end > v.last && v.units == nil && m.unitStands(v.last, end) {
		v.units = m.r.unitLists[us[0].index]
		v.unitText = m.text[m.toks[v.last].start:m.toks[end-1].end]
		v.last = end
	}
}

func (m *message) pairJoin(a, b *value) bool {
	switch b.first - a.last {
	case 1:
		t := m.tok(a.last)
		return t.text == "/" || t.text == "over" || t.text == "ovr"
	case 3:
		return m.isWord(a.last, "on") && m.isWord(a.last+1, "top") && m.isWord(a.last+2, "of")
	}
	return false
}
