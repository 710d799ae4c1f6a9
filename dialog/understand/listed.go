package understand

import (
	"maps"
	"slices"
)

// listedFacts reads a bare figure in a list of what a unit is as the fact it answers
// when that is asked: "3.5 ton, 410, piston". It must stand alone between commas, in
// a message that states other facts and reads nothing.
func (m *message) listedFacts() {
	if len(m.out.Facts) < 2 || len(m.found) > 0 {
		return
	}
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.kind != figure || v.units != nil || len(m.toks[v.first].text) < 2 || !m.between(v.first, v.last) {
			continue
		}
		for _, fact := range slices.Sorted(maps.Keys(m.r.answers)) {
			if slices.ContainsFunc(m.out.Facts, func(f Fact) bool { return f.Fact == fact }) {
				continue
			}
			for _, a := range m.r.answers[fact] {
				if x, ok := m.try(&pattern{elems: a.elems}, v.first); ok && x.last == v.last {
					m.addFact(fact, a.value)
					v.use = spent
				}
			}
		}
	}
}

// between tells that a stretch stands alone between commas or the ends of a message.
func (m *message) between(first, last int) bool {
	ends := func(t token) bool { return t.text == "," || t.kind == lineToken || t.text == "." || t.text == ";" }
	return ends(m.tok(first-1)) && ends(m.tok(last))
}
