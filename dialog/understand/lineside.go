package understand

import (
	"slices"

	"proveout/knowledge"
)

// lineSide is a value at a place that may be a pressure or the temperature of the
// same line: "62 suct".
type lineSide struct {
	value, place, row int
	pressure, line    knowledge.ReadingID
}

// settleLines decides for the values at "suction" and "liquid" without a unit
// whether they are pressures or line temperatures. They are of one kind, so one
// that can only be a pressure makes the others pressures too. Where the pressures
// of both sides are said by the message, or were read before and both lines are
// named again, they are temperatures. What stays open is asked.
func (m *message) settleLines() {
	if len(m.r.rows) < 2 {
		return
	}
	sides := m.lineSides()
	if len(sides) == 0 {
		return
	}
	if m.pressuresSaid(sides) && m.allUsual(sides, true) {
		m.makeLines(sides, true)
		return
	}
	sides = slices.DeleteFunc(sides, func(s lineSide) bool { return m.spokenQuantity(m.values[s.value].first) != "" })
	switch {
	case len(sides) == 0:
	case m.onlyPressures(sides):
		m.makeLines(sides, false)
	case slices.ContainsFunc(sides, func(s lineSide) bool { return s.pressure == m.ctx.Asked || s.line == m.ctx.Asked }):
		m.makeLines(sides, slices.ContainsFunc(sides, func(s lineSide) bool { return s.line == m.ctx.Asked }))
	case !m.allUsual(sides, true):
	case m.pressuresRead() && bothRows(sides):
		m.makeLines(sides, true)
	case bothRows(sides):
		m.doubtLines(sides)
	}
}

// lineSides lists the bare figures found or doubted at a place of either kind.
func (m *message) lineSides() []lineSide {
	var out []lineSide
	add := func(vi, pi int) {
		if pi < 0 || m.values[vi].kind != figure || m.values[vi].pair >= 0 {
			return
		}
		v, p := &m.values[vi], &m.places[pi]
		if p.comp == nil || !p.comp.Torn || p.quantity != "" || p.related && p.rel != relAt || v.units != nil || v.hint != "" {
			return
		}
		for row, id := range m.r.rows[0] {
			line := m.r.rows[1][row]
			if slices.Contains(p.comp.At, id) && (slices.Contains(p.comp.At, line) || slices.Contains(p.comp.Also, line)) {
				out = append(out, lineSide{vi, pi, row, id, line})
			}
		}
	}
	for i := range m.found {
		add(m.found[i].value, m.found[i].place)
	}
	for i := range m.doubts {
		add(m.doubts[i].value, m.doubts[i].place)
	}
	return out
}

// pressuresSaid tells that the message gives the pressures of both sides apart from
// these values: by name, or as a pair that can be nothing else, "105 over 280".
func (m *message) pressuresSaid(sides []lineSide) bool {
	row := m.r.rows[0]
	named := 0
	for i := range m.found {
		f := &m.found[i]
		if slices.Contains(row, f.id) && !slices.ContainsFunc(sides, func(s lineSide) bool { return s.value == f.value }) {
			named++
		}
	}
	if named > 1 {
		return true
	}
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.pair < 0 || m.placedAt(k) {
			continue
		}
		lo, hi := v, &m.values[v.pair]
		if lo.v > hi.v {
			lo, hi = hi, lo
		}
		if hi.use == open && m.admits(lo, nil, row[0]) && m.admits(hi, nil, row[1]) && m.usual(lo, row[0]) && m.usual(hi, row[1]) {
			return true
		}
	}
	return false
}

// onlyPressures tells that one of the values is too much for a line's temperature.
func (m *message) onlyPressures(sides []lineSide) bool {
	for _, s := range sides {
		if fits, ok := m.r.fits[s.line]; ok && m.values[s.value].v > fits[1] {
			return true
		}
	}
	return false
}

// allUsual tells that every value is what a line's temperature usually is.
func (m *message) allUsual(sides []lineSide, lines bool) bool {
	for _, s := range sides {
		id := s.pressure
		if lines {
			id = s.line
		}
		if !m.usual(&m.values[s.value], id) {
			return false
		}
	}
	return true
}

// pressuresRead tells that the record has the pressures of both sides.
func (m *message) pressuresRead() bool {
	for _, id := range m.r.rows[0] {
		if !slices.ContainsFunc(m.ctx.Earlier, func(e Reading) bool { return e.Reading == id }) {
			return false
		}
	}
	return true
}

func bothRows(sides []lineSide) bool {
	return slices.ContainsFunc(sides, func(s lineSide) bool { return s.row == 0 }) &&
		slices.ContainsFunc(sides, func(s lineSide) bool { return s.row == 1 })
}

// makeLines takes the values as line temperatures, or as pressures.
func (m *message) makeLines(sides []lineSide, lines bool) {
	for _, s := range sides {
		id := s.pressure
		if lines {
			id = s.line
		}
		m.dropValue(s.value)
		m.doubts = slices.DeleteFunc(m.doubts, func(d doubted) bool { return d.value == s.value })
		m.values[s.value].use = open
		m.found = append(m.found, finding{value: s.value, place: s.place, id: id, rule: byPlace})
	}
}

// doubtLines asks of every value which of the two it is.
func (m *message) doubtLines(sides []lineSide) {
	for _, s := range sides {
		m.dropValue(s.value)
		m.doubts = slices.DeleteFunc(m.doubts, func(d doubted) bool { return d.value == s.value })
		m.doubt(s.value, s.place, []knowledge.ReadingID{s.pressure, s.line})
	}
}
