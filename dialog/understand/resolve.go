package understand

import (
	"slices"

	"proveout/knowledge"
)

// put places a value, or the pair of values it starts.
func (m *message) put(vi, pi int) {
	v, p := &m.values[vi], &m.places[pi]
	if v.pair >= 0 {
		m.putPair(vi, pi)
		return
	}
	if len(p.both) > 0 && m.putBoth(vi, pi) {
		return
	}
	id, options := m.pick(v, p)
	if id == "" {
		m.doubt(vi, pi, options)
		return
	}
	m.found = append(m.found, finding{value: vi, place: pi, id: id, rule: byPlace})
}

// bothOf tells whether a place of two readings takes a value.
func (m *message) bothOf(v *value, p *place) ([]knowledge.ReadingID, bool) {
	for _, id := range p.both {
		if !m.admits(v, nil, id) {
			return nil, false
		}
	}
	return p.both, true
}

// putBoth fills a place of two readings with one value (each leg 120) or with
// this value and the next (44 and 4.8).
func (m *message) putBoth(vi, pi int) bool {
	v, p := &m.values[vi], &m.places[pi]
	if _, ok := m.bothOf(v, p); !ok {
		return false
	}
	next := vi + 1
	joined := next < len(m.values) && m.values[next].use == open && m.values[next].kind == v.kind && m.joined(v.last, m.values[next].first) && m.admits(&m.values[next], nil, p.both[0])
	switch {
	case joined && !m.taken(next):
		m.putTwo(vi, next, p.both, pi, p.comp.Falling)
	case p.comp.All, m.portsAlike(v, p):
		for _, id := range p.both {
			m.found = append(m.found, finding{value: vi, place: pi, id: id, rule: byAll})
		}
	case p.ports(m) && slices.Contains(p.both, m.ctx.Asked):
		m.found = append(m.found, finding{value: vi, place: pi, id: m.ctx.Asked, rule: byAsked})
	default:
		if len(p.ids) > 0 {
			return false
		}
		m.doubt(vi, pi, p.both)
	}
	return true
}

// joined tells that only "and", a comma or a slash stands between two values.
func (m *message) joined(from, to int) bool {
	if to-from > 2 || to < from {
		return false
	}
	for i := from; i < to; i++ {
		switch m.toks[i].text {
		case "and", "&", ",", "/", "over", "n", "ovr", "+", "-":
		default:
			return false
		}
	}
	return true
}

func (m *message) taken(vi int) bool {
	for i := len(m.found) - 1; i >= 0 && i >= len(m.found)-8; i-- {
		if m.found[i].value == vi {
			return true
		}
	}
	return m.values[vi].use != open
}

// putTwo places two values at two readings: the smaller first, or, for falling,
// the larger; a dual capacitor follows the rating's order when it is known.
func (m *message) putTwo(a, b int, ids []knowledge.ReadingID, pi int, falling bool) {
	x, y := ids[0], ids[1]
	if swap := m.values[a].v > m.values[b].v; swap != falling {
		x, y = y, x
	}
	m.found = append(m.found, finding{value: a, place: pi, id: x, rule: byPair}, finding{value: b, place: -1, id: y, rule: byPair})
	m.values[b].use = placed
}

func (m *message) putPair(vi, pi int) {
	v, p := &m.values[vi], &m.places[pi]
	b := v.pair
	if len(p.both) > 0 {
		if _, ok := m.bothOf(v, p); ok {
			m.putTwo(vi, b, p.both, pi, p.comp.Falling)
			return
		}
	}
	if row := m.rowOf(vi); row != nil && !p.related {
		m.putTwo(vi, b, row, pi, false)
		return
	}
	if id, options := m.pick(v, p); id != "" {
		m.found = append(m.found, finding{value: vi, place: pi, id: id, rule: byPlace})
	} else {
		m.doubt(vi, pi, options)
	}
}

// rowOf finds the pair of readings an unnamed pair of values means: pressures
// first, then line temperatures.
func (m *message) rowOf(vi int) []knowledge.ReadingID {
	lo, hi := &m.values[vi], &m.values[m.values[vi].pair]
	if lo.v > hi.v {
		lo, hi = hi, lo
	}
	rows := m.r.rows
	if asked := m.rowAsked(); asked != nil {
		rows = [][]knowledge.ReadingID{asked}
	}
	for n, row := range rows {
		if len(row) != 2 || !m.admits(lo, nil, row[0]) || !m.admits(hi, nil, row[1]) || !m.usual(lo, row[0]) || !m.usual(hi, row[1]) {
			continue
		}
		if n > 0 && !m.has(m.r.rows[n-1][0]) {
			continue
		}
		if !m.has(row[0]) {
			return row
		}
	}
	return nil
}

func (m *message) has(id knowledge.ReadingID) bool {
	for i := range m.found {
		if m.found[i].id == id && !m.found[i].gone {
			return true
		}
	}
	return false
}

// runs places what neighbours could not: names in a row, then values in a row
// ("suction, liquid: 118, 410"), and pairs without a name.
func (m *message) runs(items []item) {
	for i := 0; i < len(items); {
		j := i
		for j < len(items) && (items[j].value < 0) == (items[i].value < 0) && (j == i || m.listed(items[j-1].last, items[j].first)) {
			j++
		}
		n := j - i
		k := j
		for k < len(items) && k-j < n && (items[k].value < 0) != (items[i].value < 0) && (k == j || m.listed(items[k-1].last, items[k].first)) {
			k++
		}
		if n > 1 && k-j == n && (k == len(items) || (items[k].value < 0) == (items[i].value < 0) || !m.listed(items[k-1].last, items[k].first)) {
			m.zip(items[i:j], items[j:k])
			i = k
			continue
		}
		i = j
	}
	m.settleLines()
	m.rowPairs()
}

func (m *message) listed(from, to int) bool {
	if to-from > 2 {
		return false
	}
	for i := from; i < to; i++ {
		if t := m.toks[i]; t.text != "," && t.text != "and" && t.text != "/" && t.text != "&" && t.text != "the" && t.text != "|" {
			return false
		}
	}
	return true
}

func (m *message) zip(a, b []item) {
	for i := range a {
		x, y := a[i], b[i]
		if x.value < 0 {
			x, y = y, x
		}
		if m.fitCost(x.value, y.place) > 0 || m.values[x.value].pair >= 0 || m.heldElsewhere(x.value, a, b) {
			return
		}
	}
	for i := range a {
		x, y := a[i], b[i]
		if x.value < 0 {
			x, y = y, x
		}
		m.found = slices.DeleteFunc(m.found, func(f finding) bool { return f.value == x.value })
		m.put(x.value, y.place)
	}
}

// heldElsewhere tells a value that stands at a place outside two rows: "load side
// 241, same at top of the contactor, bottom 0" is no list.
func (m *message) heldElsewhere(vi int, rows ...[]item) bool {
	return slices.ContainsFunc(m.found, func(f finding) bool {
		return f.value == vi && f.place >= 0 && !slices.ContainsFunc(slices.Concat(rows...), func(it item) bool { return it.value < 0 && it.place == f.place })
	})
}

// rowPairs gives pairs said without a name their usual readings.
func (m *message) rowPairs() {
	slices.SortStableFunc(m.found, func(a, b finding) int { return a.value - b.value })
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || m.placedAt(k) {
			continue
		}
		b := v.pair
		if b < 0 && k+1 < len(m.values) && m.values[k+1].use == open && m.values[k+1].pair < 0 && !m.placedAt(k+1) &&
			m.joined(v.last, m.values[k+1].first) && v.kind == figure && m.values[k+1].kind == figure && (k == 0 || m.values[k-1].pair != k) && (m.has(m.r.firstRow()) || m.askedRow()) {
			b = k + 1
			v.pair = b
		}
		if b < 0 || m.values[b].use != open {
			continue
		}
		if caps := m.ratedPair(v, &m.values[b]); caps != nil {
			m.putTwo(k, b, caps, -1, true)
		} else if row := m.rowOf(k); row != nil {
			m.putTwo(k, b, row, -1, false)
		} else {
			v.pair = -1
		}
	}
}

// ratedPair finds the two capacitor readings an unnamed pair means when both lie
// near the ratings known.
func (m *message) ratedPair(a, b *value) []knowledge.ReadingID {
	for _, c := range m.r.falling {
		x, y := m.nearRating(a, c.Both), m.nearRating(b, c.Both)
		if x == "" && y == "" && slices.Contains(c.Both, m.ctx.Asked) && m.admits(a, nil, c.Both[0]) && m.admits(b, nil, c.Both[0]) {
			return c.Both
		}
		if x != "" && y != "" && x != y && m.admits(a, nil, x) && m.admits(b, nil, y) {
			return c.Both
		}
	}
	return nil
}

// askedRow tells that one of a pair of readings was asked, so that two values in
// a row are the pair.
func (m *message) askedRow() bool {
	for _, c := range m.r.falling {
		if slices.Contains(c.Both, m.ctx.Asked) {
			return true
		}
	}
	return m.rowAsked() != nil
}

// rowAsked is the pair of readings one of which was asked, or whose difference was:
// "75 57" when the split is asked.
func (m *message) rowAsked() []knowledge.ReadingID {
	for _, row := range m.r.rows {
		if slices.Contains(row, m.ctx.Asked) || m.askedQuantity("temperature-split") && slices.Contains(row, "temperature/supply-air") {
			return row
		}
	}
	return nil
}

func (r *Reader) firstRow() knowledge.ReadingID {
	if len(r.rows) == 0 || len(r.rows[0]) == 0 {
		return ""
	}
	return r.rows[0][0]
}

func (m *message) placedAt(k int) bool {
	for i := range m.found {
		if m.found[i].value == k {
			return true
		}
	}
	return false
}

// doubted is a value that could be several readings of one place.
type doubted struct {
	value, place int
	options      []knowledge.ReadingID
	scales       []string // of a temperature, when they are what is open
}

// doubt records a value that could be several readings.
func (m *message) doubt(vi, pi int, options []knowledge.ReadingID) {
	v := &m.values[vi]
	if v.kind != figure && (v.kind != nothing || v.hint != "voltage" && v.like == 0) || len(options) == 0 {
		return // only "no power" and "no 24" say by themselves that they are read
	}
	v.use = spent
	m.doubts = append(m.doubts, doubted{value: vi, place: pi, options: options})
}

// ask turns the doubts left into questions.
func (m *message) ask() {
	for _, d := range m.doubts {
		u := Unclear{Text: m.figureText(&m.values[d.value]), Scales: d.scales}
		for _, id := range d.options[:min(3, len(d.options))] {
			u.Options = append(u.Options, string(id))
		}
		m.out.Unclear = append(m.out.Unclear, u)
	}
}

func (m *message) figureText(v *value) string {
	first, last := v.figureStart, max(v.last, v.figureEnd)
	if v.first < first && m.toks[v.first].text == "-" {
		first = v.first
	}
	return m.text[m.toks[first].start:m.toks[last-1].end]
}
