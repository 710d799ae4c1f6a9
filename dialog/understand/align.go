package understand

import (
	"slices"

	"proveout/knowledge"
)

// finding is a value at a reading, before it is turned into one.
type finding struct {
	value int
	place int // -1 when nothing in the message names it
	id    knowledge.ReadingID
	rule  string // why the value stands here
	gone  bool
}

// item is a value or a place in the order of the message.
type item struct {
	value, place int
	first, last  int
}

const (
	never     = 1e9
	skipValue = 7.0
	skipWords = 4.0 // "no volts"
	skipWord  = 1.5 // "dead", which may be a state
	skipPlace = 0.6
	reach     = 3  // how many items a value looks ahead for its place
	farthest  = 12 // tokens between a value and its place
)

// align decides which value stands at which place: the cheapest set of
// neighbouring pairs over the whole message.
func (m *message) align() {
	items := m.items()
	n := len(items)
	best := make([]float64, n+reach+2)
	mate := make([]int, n)
	for i := n - 1; i >= 0; i-- {
		best[i], mate[i] = best[i+1]+m.skip(items[i]), -1
		between := 0.0
		for j := i + 1; j < n && j <= i+reach; j++ {
			cost := m.matchCost(items, i, j)
			if c := cost + between + best[j+1]; c < best[i] {
				best[i], mate[i] = c, j
			}
			between += m.skip(items[j])
		}
	}
	for i := 0; i < n; {
		j := mate[i]
		if j < 0 {
			i++
			continue
		}
		a, b := items[i], items[j]
		if a.value < 0 {
			a, b = b, a
		}
		m.put(a.value, b.place)
		i = j + 1
	}
	m.runs(items)
	m.share(items)
	m.bothAsked()
	m.bothPorts()
	m.carry()
}

// items lists open values and places that can hold a reading.
func (m *message) items() []item {
	var out []item
	for k := range m.values {
		v := &m.values[k]
		if v.use == open && (k == 0 || m.values[k-1].pair != k) {
			last := v.last
			if v.pair >= 0 {
				last = m.values[v.pair].last
			}
			out = append(out, item{k, -1, v.first, last})
		}
	}
	for k := range m.places {
		p := &m.places[k]
		if !p.lends && !m.heads(k) && !m.wanted(p) && !m.deniedPlace(k) && (len(p.ids) > 0 || len(p.both) > 0 || p.comp != nil && len(p.comp.Also) > 0) {
			out = append(out, item{-1, k, p.first, p.last})
		}
	}
	slices.SortStableFunc(out, func(a, b item) int { return a.first - b.first })
	return out
}

// heads tells the word for both gauges in front of the gauges named each for itself:
// "gauges say 68 suction 226 head".
func (m *message) heads(k int) bool {
	p := &m.places[k]
	return p.ports(m) && slices.ContainsFunc(m.places[k+1:], func(q place) bool {
		return m.sameSentence(p.last, q.first) && slices.ContainsFunc(append(slices.Clip(q.ids), q.both...), func(id knowledge.ReadingID) bool { return slices.Contains(p.both, id) })
	})
}

func (m *message) skip(it item) float64 {
	if it.value < 0 {
		return skipPlace
	}
	switch v := &m.values[it.value]; {
	case v.weak, v.again:
		return 0.5
	case v.kind == figure:
		return skipValue
	case v.last-v.first > 1 || v.kind == infinite:
		return skipWords
	}
	return skipWord
}

// matchCost is how badly a value and a place go together, never when they cannot.
func (m *message) matchCost(items []item, i, j int) float64 {
	a, b := items[i], items[j]
	if (a.value < 0) == (b.value < 0) {
		return never
	}
	vi, pi := a.value, b.place
	valueFirst := a.value >= 0
	if !valueFirst {
		vi, pi = b.value, a.place
	}
	fit := m.fitCost(vi, pi)
	if fit >= never || b.first-a.last > farthest {
		return never
	}
	v, p := &m.values[vi], &m.places[pi]
	cost := fit + m.wayCost(a.last, b.first)
	adjacent := m.plainWay(a.last, b.first)
	if p.torn && m.asks(v, p) {
		cost += 2
	}
	switch {
	case valueFirst && p.leading && m.fillOnly(a.last, p.first):
		cost -= 3
	case valueFirst && p.comp.All && p.comp.State == "" && b.first == a.last:
		cost -= 3 // "240 in and out"
	case valueFirst && p.hanging && b.first == a.last:
		cost -= 2.5
	case valueFirst && adjacent && b.first == a.last && m.toks[b.first].glued:
		cost -= 3 // "66wb 78db"
	case valueFirst && adjacent:
		cost -= 0.5
	case !valueFirst && adjacent:
		cost -= 2
	}
	if v.weak && (valueFirst && v.units == nil || cost > -0.4 || b.first-a.last > 1) {
		return never
	}
	if v.kind == nothing && (!m.zeroAt(v, p) || valueFirst && m.saidBefore(v, b.first)) {
		return never
	}
	return cost
}

// saidBefore tells that "dead" belongs to the unit before it, not to what follows
// the comma: "outdoor unit dead, contactor out".
func (m *message) saidBefore(v *value, next int) bool {
	k := m.chunkBefore(v.first)
	if v.last-v.first > 1 || k < 0 || m.gapWords(m.chunks[k].last, v.first) > 1 || m.chunks[k].comp() == nil || m.chunkOf[v.first] < 0 {
		return false
	}
	comma := false
	for i := v.last; i < next; i++ {
		comma = comma || m.toks[i].text == "," || m.endsSentence(i)
	}
	return comma && m.says(int(m.chunkOf[v.first]), m.chunks[k].comp().Subjects)
}

// asks tells whether a value at a torn place would have to be asked about.
func (m *message) asks(v *value, p *place) bool {
	if len(p.both) > 0 || v.kind != figure && v.kind != infinite {
		return false
	}
	id, _ := m.pick(v, p)
	return id == ""
}

// zeroAt tells whether "nothing" there is a zero reading, not a thing that is off.
func (m *message) zeroAt(v *value, p *place) bool {
	return v.like != 0 || v.hint != "" && p.has(v.hint) || m.pointLike(p)
}

// pointLike tells a place where "nothing" and "dead" mean a zero reading.
func (m *message) pointLike(p *place) bool {
	return p.pair || p.quantity != "" || p.comp.Point || p.related && p.rel != relAt && p.comp.side(p.rel) || len(p.comp.Subjects) == 0 || p.comp.All
}

// wayCost is the cost of what lies between a value and a place.
func (m *message) wayCost(from, to int) float64 {
	cost := 0.0
	for i := from; i < to; i++ {
		t := m.toks[i]
		switch {
		case t.kind == lineToken:
			cost += 3.5
		case t.text == ",", t.text == "(", t.text == ")":
			cost += 2
		case t.text == ":", t.text == "=", t.text == "-", t.text == "@", t.text == "|":
			cost -= 0.3
		case m.endsSentence(i):
			cost += never
		case t.text == "and", t.text == "but", t.text == "then", t.text == "&":
			cost += 2
		case m.linkWord(i):
			cost += 0.1
		default:
			cost += 0.7
		}
	}
	return cost
}

// linkWord tells a word that ties a value to its place.
func (m *message) linkWord(i int) bool {
	if m.filler(i) {
		return true
	}
	c := m.chunkOf[i]
	return c >= 0 && (m.chunks[c].small(wordReads) || m.chunks[c].small(wordFiller) || m.chunks[c].small(wordAbout) || m.chunks[c].small(wordNow) || m.chunks[c].quantity() != "")
}

func (m *message) plainWay(from, to int) bool {
	for i := from; i < to; i++ {
		if t := m.toks[i].text; !m.linkWord(i) && t != ":" && t != "=" && t != "-" && t != "@" && t != "is" && t != "|" {
			return false
		}
	}
	return true
}

func (m *message) fillOnly(from, to int) bool {
	for i := from; i < to; i++ {
		if !m.filler(i) && !m.linkWord(i) {
			return false
		}
	}
	return true
}
