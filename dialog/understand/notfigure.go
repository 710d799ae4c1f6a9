package understand

import (
	"math"
	"strconv"
	"strings"
)

// notAFigure finds times, dates, phone numbers, sizes and codes: digits that
// count nothing a meter shows.
func (m *message) notAFigure(i int) (value, bool) {
	join := func(j int, mark string) bool {
		return m.tok(j).text == mark && m.tok(j).glued && m.tok(j+1).kind == numberToken && m.tok(j+1).glued
	}
	end := i + 1
	fraction := false
	switch {
	case join(end, ":") && len(m.toks[end+1].text) == 2: // 10:30
		end += 2
	case join(end, "/") && join(end+2, "/"): // 6/12/2024
		end += 4
	case join(end, "-") && (join(end+2, "-") || len(m.toks[i].text) >= 3 && len(m.toks[end+1].text) >= 4): // 555-0142
		for join(end, "-") {
			end += 2
		}
	case m.toks[i].end > m.toks[i].start && strings.ContainsAny(m.toks[i].text, "eE"):
		return value{}, false // what a program prints is a figure
	case len(strings.Trim(m.toks[i].text, "0123456789")) == 0 && (len(m.toks[i].text) >= 7 || m.isYear(i)):
	case m.isSize(i):
		_, end, _ = m.commonFraction(i)
		fraction = true
	case m.tok(i-1).text == "#" && m.toks[i].glued:
	case len(m.toks[i].text) >= 3 && m.toks[i].text[0] == '0' && !strings.Contains(m.toks[i].text, "."):
	case len(m.toks[i].text) == 3 && m.tok(end).kind == numberToken && len(m.tok(end).text) == 4 && !strings.Contains(m.tok(end).text, ".") && !m.unitLike(end+1):
		end++
	case m.isAddress(i):
	case m.isCode(end):
		for m.tok(end).glued && (m.tok(end).kind != markToken || m.tok(end).text == "-") {
			end++
		}
	case i > 0 && m.toks[i-1].kind == wordToken && m.toks[i].glued && m.toks[i-1].id == unknown && len(m.toks[i].text) > 1:
	default:
		return value{}, false
	}
	v := exact(i, end, 0)
	v.use, v.fraction = aside, fraction
	return v, true
}

// isYear tells a year said as one: "since 2015".
func (m *message) isYear(i int) bool {
	s := m.toks[i].text
	if len(s) != 4 || s[:2] != "19" && s[:2] != "20" {
		return false
	}
	if m.tok(i-1).kind == numberToken || m.tok(i-1).text == "," && m.tok(i-2).kind == numberToken {
		return !m.unitLike(i + 1)
	}
	switch m.tok(i - 1).text {
	case "in", "since", "from", "circa", "year", "of", "around", "installed", "built", "dated":
		return !m.unitLike(i + 1)
	}
	return false
}

// isAddress tells a house number: a whole figure before a name nobody in the
// trade uses, written with a capital.
func (m *message) isAddress(i int) bool {
	t := m.tok(i + 1)
	if t.kind != wordToken || t.glued || t.id != unknown || len(m.toks[i].text) < 2 && !m.isWord(i-1, "at") || strings.Contains(m.toks[i].text, ".") || t.end-t.start < 3 {
		return false
	}
	first, second := m.text[t.start], m.text[t.start+1]
	return first >= 'A' && first <= 'Z' && second >= 'a' && second <= 'z'
}

// addresses sets aside the figures that only tell where a house is.
func (m *message) addresses() {
	for k := range m.values {
		if v := &m.values[k]; v.use == open && v.kind == figure && m.houseNumber(v) {
			v.use = aside
		}
	}
}

// houseNumber tells a whole figure with a name beside it nobody in the trade uses: "at
// 300 linden", "212 oak, no cooling", "calle nogal 212". Behind it the name must be all
// its clause still says, with a word before that leads to a place or in a message that
// opens a job.
func (m *message) houseNumber(v *value) bool {
	if v.units != nil || v.pair >= 0 || v.v != math.Trunc(v.v) || v.figureEnd-v.figureStart > 1 || m.toks[v.figureStart].kind != numberToken {
		return false
	}
	for i := v.figureStart - 1; i >= 0 && i >= v.figureStart-3 && m.outsider(i); i-- {
		if m.marks(i, wordStreet) {
			return true
		}
	}
	i := v.figureEnd
	for i < len(m.toks) && i < v.figureEnd+2 && m.outsider(i) {
		i++
	}
	if i == v.figureEnd || i < len(m.toks) && !m.endsClause(i) {
		return false
	}
	return m.intents["open-job"] || m.strange(v.figureEnd) && (m.isWord(v.first-1, "at") || m.talkBegins() && m.endsClauseBefore(v.first))
}

// talkBegins tells that nothing was asked or read yet: a job begins with where it is.
func (m *message) talkBegins() bool {
	return m.ctx.Asked == "" && m.ctx.AskedObservation == "" && m.ctx.AskedFact == "" && len(m.ctx.Earlier) == 0
}

// endsClauseBefore tells that a token begins a clause behind another.
func (m *message) endsClauseBefore(i int) bool { return i > 0 && m.endsClause(i-1) }

// outsider tells a word that is part of no phrase of the lexicon, or only of one it was
// taken for by its spelling that names nothing a meter is put on: "hollis" is no "holds".
func (m *message) outsider(i int) bool {
	t := &m.toks[i]
	if t.kind != wordToken || t.glued || len(t.text) <= 2 || m.at[i] >= 0 {
		return false
	}
	k := m.chunkOf[i]
	return k < 0 || m.strange(i) && m.chunks[k].comp() == nil && m.chunks[k].quantity() == ""
}

// isSize tells a pipe size: 3/8, 7/8, 3/4.
func (m *message) isSize(i int) bool {
	_, _, ok := m.commonFraction(i)
	return ok
}

func (m *message) commonFraction(i int) (float64, int, bool) {
	if m.tok(i).kind != numberToken || m.tok(i+1).text != "/" || m.tok(i+2).kind != numberToken || !m.tok(i+1).glued || !m.tok(i+2).glued {
		return 0, i, false
	}
	a, _ := strconv.Atoi(m.toks[i].text)
	b, _ := strconv.Atoi(m.toks[i+2].text)
	if a < 1 || a >= b || b != 2 && b != 4 && b != 8 && b != 16 && b != 32 {
		return 0, i, false
	}
	return float64(a) / float64(b), i + 3, true
}

// isCode tells letters and digits glued to a figure that are no unit: 24ACC6.
func (m *message) isCode(i int) bool {
	t := m.tok(i)
	if !t.glued || t.kind != wordToken {
		return false
	}
	if m.unitLike(i) || m.r.suffix[t.id] || m.r.code[t.id] {
		return false
	}
	return t.id == unknown || strings.ContainsAny(t.text, "0123456789")
}

// strange tells a word no part of the lexicon has as it was written.
func (m *message) strange(i int) bool {
	t := &m.toks[i]
	return m.r.vocab.id(fold(m.text[t.start:t.end])) == unknown
}
