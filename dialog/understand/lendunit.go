package understand

// lendUnit gives a bare figure the unit it was said in: the letter behind it that is
// no terminal where a temperature is told ("return 26 c supply 15 c"), or the unit of
// the figure of the same quantity before it ("810 kPa and head 2800"), as long as that
// makes a figure as usual for the reading.
func (m *message) lendUnit(f *finding) {
	v := &m.values[f.value]
	if v.units != nil || v.kind != figure || v.hint != "" {
		return
	}
	q := f.id.Quantity()
	if q == "temperature" && m.isWord(v.figureEnd, "c") && !m.placedOn(v.figureEnd) {
		if us, end := m.r.units.longest(m.toks, v.figureEnd, m.in); end == v.figureEnd+1 {
			v.units, v.last = m.r.unitLists[us[0].index], max(v.last, end)
			return
		}
	}
	for k := f.value - 1; k >= 0; k-- {
		before := &m.values[k]
		if before.kind != figure || !hasQuantity(before.units, q) {
			continue
		}
		lent := *v
		if lent.units = before.units; m.usual(&lent, f.id) {
			v.units = before.units
		}
		return
	}
}

// placedOn tells that a token is part of a place a value was put at.
func (m *message) placedOn(i int) bool {
	for j := range m.found {
		if p := m.found[j].place; p >= 0 && m.places[p].first <= i && i < m.places[p].last {
			return true
		}
	}
	return false
}
