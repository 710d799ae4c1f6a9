package understand

import (
	"math"
	"slices"

	"proveout/knowledge"
)

// wordsForValues adds the words that stand for a value: nothing, OL, beeps.
func (m *message) wordsForValues() {
	for i := range m.chunks {
		c := &m.chunks[i]
		v := exact(c.first, c.last, 0)
		v.pair = -1
		switch {
		case m.claimed[c.first] && m.claimed[c.last-1]:
			continue
		case c.small(wordInfinite):
			v.kind, v.v, v.low, v.high = infinite, math.Inf(1), math.Inf(1), math.Inf(1)
		case c.small(wordOpen) && (m.askedQuantity("resistance") || m.ohmsNearby(i) || m.ohmsOnly(i) || m.ohmsPair(i) || m.openPart(i)):
			v.kind, v.v, v.low, v.high = infinite, math.Inf(1), math.Inf(1), math.Inf(1)
		case c.small(wordNothing):
			v.kind = nothing
			for j := c.first; j < c.last; j++ {
				if k := m.at[j]; k >= 0 && m.values[k].first == j {
					v.like = m.values[k].v
				}
			}
			v.hint = m.quantityIn(c)
			v.drop = m.isWord(c.last-1, "drop")
		case c.small(wordNot) && m.notThere(i):
			v.kind, v.like = nothing, m.valueBefore(c.first)
		case c.small(wordContinuity) && m.ohmsFollow(c.last):
			continue
		case c.small(wordContinuity) && c.quantity() == "" || c.small(wordContinuity) && c.last-c.first > 1:
			if m.negatedBefore(c.first) {
				v.kind, v.v, v.low, v.high = infinite, math.Inf(1), math.Inf(1), math.Inf(1)
				break
			}
			v.kind = continuity
		case c.small(wordShort) && m.askedQuantity("resistance"):
			v.kind = continuity
		default:
			continue
		}
		m.values = append(m.values, v)
		for j := c.first; j < c.last; j++ {
			if m.at[j] < 0 {
				m.at[j] = int32(len(m.values) - 1)
			}
		}
	}
	m.order()
}

// ohmsFollow tells whether a figure in ohms says more than "continuity" does.
func (m *message) ohmsFollow(i int) bool {
	for j := i; j < min(len(m.toks), i+4); j++ {
		if k := m.at[j]; k >= 0 && m.values[k].kind == figure && hasQuantity(m.values[k].units, "resistance") {
			return true
		}
	}
	return false
}

// quantityIn is the quantity a phrase like "no volts" speaks of.
func (m *message) quantityIn(c *chunk) string {
	ms, end := m.r.phrases.longest(m.toks, c.last-1, m.in)
	for _, x := range ms {
		if x.kind == isQuantity && end == c.last && c.last-c.first > 1 {
			return x.quantity
		}
	}
	return ""
}

// notThere tells "but not at the coil" after a value: nothing there.
func (m *message) notThere(i int) bool {
	j := i + 1
	for j < len(m.chunks) && j < i+3 && m.chunks[j].first == m.chunks[j-1].last && m.chunks[j].small(wordReads) && !m.isRelation(j) {
		j++
	}
	if j >= len(m.chunks) || m.chunks[j].first != m.chunks[j-1].last {
		return false
	}
	rel, ok := m.chunks[j].rel()
	part := m.nextComponent(j) >= 0 || rel == relOut && m.chunks[j].last-m.chunks[j].first > 1
	return ok && part && m.turns(m.chunks[i].first) && m.valueBefore(m.chunks[i].first) != 0
}

// turns tells that the clause turns from what was found to what was not: "24 at y
// but not at the coil". "It was at y not at the coil" only says where.
func (m *message) turns(i int) bool {
	switch m.tok(i - 1).text {
	case "at", "on", "it", "there":
		return true
	}
	for j := i - 1; j >= 0 && j > i-8; j-- {
		switch t := m.toks[j]; {
		case t.text == ",", t.text == "but", t.text == "and", t.text == "then", m.endsSentence(j):
			return true
		case m.at[j] >= 0:
			return false
		}
	}
	return false
}

func (m *message) isRelation(k int) bool {
	_, ok := m.chunks[k].rel()
	return ok
}

// valueBefore is the figure said shortly before a token, 0 when there is none.
func (m *message) valueBefore(i int) float64 {
	for j := i - 1; j >= 0 && j > i-10; j-- {
		if k := m.at[j]; k >= 0 && m.values[k].use == open && m.values[k].kind == figure {
			return m.values[k].v
		}
	}
	return 0
}

// ohmsOnly tells whether the component beside a chunk can only be read in ohms:
// "start winding is open".
func (m *message) ohmsOnly(i int) bool {
	for _, j := range []int{i - 1, i - 2, i + 1} {
		if j < 0 || j >= len(m.chunks) || m.chunks[j].comp() == nil || len(m.chunks[j].comp().At) == 0 {
			continue
		}
		return m.gapWords(min(m.chunks[j].last, m.chunks[i].last), max(m.chunks[j].first, m.chunks[i].first)) <= 3 &&
			oneQuantity(m.chunks[j].comp().At) == "resistance"
	}
	if i+1 < len(m.chunks) && m.isRelation(i+1) { // "open at the start winding"
		j := m.nextComponent(i + 1)
		return j >= 0 && m.chunks[i+1].first == m.chunks[i].last && oneQuantity(m.chunks[j].comp().At) == "resistance"
	}
	return false
}

// openPart tells whether the part right before a chunk is read in ohms and is never
// seen open: "contactor coil open", and not "float switch open".
func (m *message) openPart(i int) bool {
	if i == 0 || !m.onlyFiller(m.chunks[i-1].last, m.chunks[i].first) {
		return false
	}
	j := i - 1
	for j > 0 && m.chunks[j].comp() == nil && m.chunks[j].small(wordFiller) && m.chunks[j-1].last == m.chunks[j].first {
		j--
	}
	c := m.chunks[j].comp()
	return c != nil && c.Terminal == "" && c.Point && slices.ContainsFunc(c.At, func(id knowledge.ReadingID) bool { return id.Quantity() == "resistance" }) && !m.says(i, c.Subjects)
}

// ohmsPair tells whether two terminals between which only ohms are read stand
// beside a chunk: "open from c to s".
func (m *message) ohmsPair(i int) bool {
	var last *component
	for j := max(0, i-5); j < min(len(m.chunks), i+6); j++ {
		c := m.chunks[j].comp()
		if c == nil || c.Terminal == "" {
			continue
		}
		if last != nil && oneQuantity(m.r.pairs[[2]string{last.Terminal, c.Terminal}]) == "resistance" && m.sameSentence(m.chunks[j].first, m.chunks[i].first) {
			return true
		}
		last = c
	}
	return false
}

// ohmsNearby tells whether the talk around a chunk is of resistance.
func (m *message) ohmsNearby(i int) bool {
	for j := max(0, i-6); j < min(len(m.chunks), i+3); j++ {
		if m.chunks[j].quantity() == "resistance" && m.sameClause(min(m.chunks[j].last, m.chunks[i].last), max(m.chunks[j].first, m.chunks[i].first)) {
			return true
		}
	}
	return false
}

// order puts the values in the order of the message and mends what points at them.
func (m *message) order() {
	type place struct{ old, first int }
	idx := make([]place, len(m.values))
	for i := range m.values {
		idx[i] = place{i, m.values[i].first}
	}
	slices.SortStableFunc(idx, func(a, b place) int { return a.first - b.first })
	to := make([]int, len(idx))
	out := make([]value, len(idx))
	for i, x := range idx {
		to[x.old], out[i] = i, m.values[x.old]
	}
	for i := range out {
		if out[i].pair >= 0 {
			out[i].pair = to[out[i].pair]
		}
	}
	for j, k := range m.at {
		if k >= 0 {
			m.at[j] = int32(to[k])
		}
	}
	m.values = out
}
