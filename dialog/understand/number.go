package understand

import (
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// use says what a value of the message turned out to be.
type use uint8

const (
	open   use = iota // nothing known yet
	aside             // no reading: an address, a price, a quoted rating …
	struck            // taken back by a correction
	spent             // stated a fact
	placed            // a reading
)

type valueKind uint8

const (
	figure     valueKind = iota
	nothing              // "nothing", "no volts"
	infinite             // "OL"
	continuity           // "beeps"
)

// value is a figure of the message, or a word that stands for one, with its unit.
type value struct {
	kind         valueKind
	first, last  int // tokens, with unit and "about"
	figureStart  int // the figure alone
	figureEnd    int
	v, low, high float64
	approx       bool
	weak         bool // a small number word: counts only beside a place
	fraction     bool
	bounce       bool
	units        []unit
	like         float64 // the figure denied: "no 24"
	quantity     string  // what a repeated value is of; empty when nothing says
	again        bool    // repeats a value said before
	recalled     bool    // repeats a figure of the record
	drop         bool    // a word for no difference: "no drop"
	barred       bool    // said to be somewhere else than what was asked
	hint         string  // quantity named right before the figure
	unitText     string
	use          use
	pair         int // the value it is paired with ("118 over 410"), or -1
}

// unit is one meaning of a unit's words.
type unit struct {
	quantity       string
	name           string
	factor, offset float64
	kept           bool
	opens          bool // other units of the quantity begin with these words
	meant          bool // not said, and named when it is said back
}

// readNumbers finds the figures and number words of a message.
func (m *message) readNumbers() {
	m.at = make([]int32, len(m.toks))
	for i := range m.at {
		m.at[i] = -1
	}
	for i := 0; i < len(m.toks); {
		v, ok := m.number(i)
		if !ok {
			i++
			continue
		}
		v.pair = -1
		m.unitAfter(&v)
		m.values = append(m.values, v)
		for j := v.first; j < v.last; j++ {
			m.at[j] = int32(len(m.values) - 1)
		}
		i = v.last
	}
	m.ranges()
	m.modifiers()
}

func (m *message) number(i int) (value, bool) {
	t := m.toks[i]
	if t.kind == numberToken {
		if v, ok := m.notAFigure(i); ok {
			return v, true
		}
		return m.digits(i), true
	}
	if t.kind == wordToken && t.id != unknown {
		return m.spoken(i)
	}
	return value{}, false
}

func exact(i, end int, x float64) value {
	return value{first: i, last: end, figureStart: i, figureEnd: end, v: x, low: x, high: x}
}

func (m *message) digits(i int) value {
	x, err := strconv.ParseFloat(strings.ReplaceAll(m.toks[i].text, ",", ""), 64)
	if err != nil || math.IsInf(x, 0) {
		v := exact(i, i+1, 0)
		v.use = aside
		return v
	}
	end := i + 1
	if x == 1 && m.pronoun(i) && m.tok(i-1).text != "a" && m.tok(i-1).text != "the" && !m.unitLike(end) {
		v := exact(i, end, x) // "skip this 1"
		v.use = aside
		return v
	}
	if f, e, ok := m.commonFraction(end); ok && !m.toks[end].glued && x == math.Trunc(x) {
		return exact(i, e, x+f)
	}
	if f, e, ok := m.pointWords(end); ok {
		return exact(i, e, x+f)
	}
	if f, ok := m.oneSign(end); ok && x == math.Trunc(x) {
		return exact(i, end+1, x+f)
	}
	if h, e, ok := m.halves(end); ok {
		return exact(i, e, x+h)
	}
	if m.isWord(end, "hundred") && x < 100 {
		return exact(i, end+1, x*100)
	}
	v := exact(i, end, x)
	if m.tok(end).glued && m.isWord(end, "k") && !m.unitLike(end+1) && x < 100 {
		v = exact(i, end+1, x*1000)
		v.unitText = "k"
	}
	return v
}

// oneSign is the worth of a fraction written as one sign: "4½".
func (m *message) oneSign(i int) (float64, bool) {
	t := m.tok(i)
	if t.kind != numberToken || t.end-t.start > 2 || m.text[t.start] < utf8.RuneSelf || t.text[0] != '0' {
		return 0, false
	}
	return parse(t.text)
}

// unitLike tells whether a unit's words start at a token.
func (m *message) unitLike(i int) bool {
	_, end := m.r.units.longest(m.toks, i, m.in)
	return end > i
}

// spoken reads number words: "two forty", "one oh five", "twenty seven and a
// half", "point seven", "a hundred and ten".
func (m *message) spoken(i int) (value, bool) {
	if f, end, ok := m.pointWords(i); ok {
		return exact(i, end, f), true
	}
	x, end, ok := m.upTo999(i)
	if !ok || x == 1 && end == i+1 && m.pronoun(i) && !m.isWord(end, "point") {
		return value{}, false
	}
	if m.isWord(end, "thousand") {
		x, end = x*1000, end+1
		if y, e, ok := m.upTo999(end); ok && y < 1000 {
			x, end = x+y, e
		}
	}
	words := end - i
	if f, e, ok := m.pointWords(end); ok {
		return exact(i, e, x+f), true
	}
	if h, e, ok := m.halves(end); ok {
		return exact(i, e, x+h), true
	}
	v := exact(i, end, x)
	v.weak = words == 1 && x >= 1 && x < 10
	return v, true
}

func (m *message) upTo999(i int) (float64, int, bool) {
	if m.isWord(i, "too") { // "too forty", as a phone hears "two forty"
		if y, e, ok := m.upTo99(i + 1); ok && y >= 10 {
			return 200 + y, e, true
		}
	}
	// "doscientos cuarenta": the hundreds are one word.
	if h, ok := m.numberWord(i); ok && h >= 100 && h < 1000 && !m.isWord(i, "hundred") {
		if y, e, ok := m.upTo99(i + 1); ok {
			return h + y, e, true
		}
		return h, i + 1, true
	}
	x, end, ok := m.upTo99(i)
	if !ok {
		if !m.isWord(i, "hundred") {
			return 0, i, false
		}
		x, end = 1, i
	}
	if m.isWord(end, "hundred") {
		x, end = x*100, end+1
		j := end
		if m.isWord(j, "and") {
			j++
		}
		if y, e, ok := m.upTo99(j); ok {
			return x + y, e, true
		}
		return x, end, true
	}
	if x < 1 || x > 9 {
		return x, end, true
	}
	// "two forty", "one eighteen", "one oh five"
	if y, e, ok := m.upTo99(end); ok && y >= 10 {
		return x*100 + y, e, true
	}
	if m.isWord(end, "oh") || m.isWord(end, "o") {
		if y, ok := m.numberWord(end + 1); ok && y < 10 {
			return x*100 + y, end + 2, true
		}
	}
	return x, end, true
}

// numberWord is what a number word is worth, in a language the message is in.
func (m *message) numberWord(i int) (float64, bool) {
	id := m.tok(i).id
	x, ok := m.r.numbers[id]
	return x, ok && m.r.numberIn[id]&m.in != 0
}

func (m *message) upTo99(i int) (float64, int, bool) {
	x, ok := m.numberWord(i)
	if !ok || m.tok(i).kind != wordToken || x >= 100 {
		return 0, i, false
	}
	end := i + 1
	if x >= 20 {
		j := end
		if m.tok(j).text == "-" || m.tensAnd(j) {
			j++
		}
		if y, ok := m.numberWord(j); ok && m.tok(j).kind == wordToken && y >= 1 && y < 10 {
			return x + y, j + 1, true
		}
	}
	return x, end, true
}

// tensAnd tells the "y" of "treinta y cinco", read as and.
func (m *message) tensAnd(j int) bool {
	return m.in != english && m.isWord(j, "and") && m.text[m.toks[j].start]|0x20 == 'y'
}

// pointWords reads "point seven", "point oh five", "point 7".
func (m *message) pointWords(i int) (float64, int, bool) {
	if !m.isWord(i, "point") {
		return 0, i, false
	}
	scale, x, j := 0.1, 0.0, i+1
	if m.tok(j).kind == numberToken {
		f, err := strconv.ParseFloat("0."+m.toks[j].text, 64)
		return f, j + 1, err == nil
	}
	for ; j < len(m.toks); j++ {
		d, ok := m.numberWord(j)
		if m.isWord(j, "oh") || m.isWord(j, "o") {
			d, ok = 0, true
		}
		if !ok || m.toks[j].kind != wordToken {
			break
		}
		if d >= 10 && d < 100 {
			y, e, _ := m.upTo99(j)
			x += y * scale / 10
			j = e
			break
		}
		if d >= 10 {
			break
		}
		x += d * scale
		scale /= 10
	}
	return math.Round(x*1e6) / 1e6, j, j > i+1
}

func (m *message) halves(i int) (float64, int, bool) {
	if !m.isWord(i, "and") && !m.isWord(i, "n") {
		return 0, i, false
	}
	switch {
	case (m.isWord(i+1, "a") || m.isWord(i+1, "one")) && m.isWord(i+2, "half"):
		return 0.5, i + 3, true
	case m.isWord(i+1, "half"):
		return 0.5, i + 2, true
	case (m.isWord(i+1, "a") || m.isWord(i+1, "one")) && m.isWord(i+2, "quarter"):
		return 0.25, i + 3, true
	case m.isWord(i+1, "three") && (m.isWord(i+2, "quarters") || m.isWord(i+2, "quarter")):
		return 0.75, i + 3, true
	}
	return 0, i, false
}

// pronoun tells that "one" stands for a thing: "this one", "a new one".
func (m *message) pronoun(i int) bool {
	if m.verbBehind(i) {
		return true
	}
	if m.tok(i-1).kind != wordToken {
		return false
	}
	switch m.tok(i - 1).text {
	case "this", "that", "the", "which", "another", "new", "next", "last", "each", "every", "old", "bad", "good", "has", "got",
		"only", "other", "first", "second", "a", "no", "any", "have", "my", "same", "different", "skip", "right", "wrong":
		return true
	}
	return m.thatOne(i)
}

// verbBehind tells that a one is what something is told of: "one ohms open".
func (m *message) verbBehind(i int) bool {
	switch m.tok(i + 1).text {
	case "ohms", "reads", "measures", "tests", "shows", "is", "has":
		return m.tok(i).kind == wordToken
	}
	return false
}

// thatOne tells "the condenser one": a part between the article and a one that counts
// nothing.
func (m *message) thatOne(i int) bool {
	if _, counts := m.numberWord(i + 1); counts || m.tok(i+1).kind == numberToken || m.unitLike(i+1) {
		return false
	}
	switch m.tok(i - 2).text {
	case "the", "that", "this", "which":
		return true
	}
	return false
}

func (m *message) isWord(i int, w string) bool {
	return i >= 0 && i < len(m.toks) && m.toks[i].kind == wordToken && m.toks[i].text == w
}

var nowhere = token{id: unknown, kind: lineToken}

// tok is the token at i, or an empty one outside the message.
func (m *message) tok(i int) token {
	if i < 0 || i >= len(m.toks) {
		return nowhere
	}
	return m.toks[i]
}
