package understand

import (
	"maps"
	"slices"
)

// listedFacts reads a bare figure in a list of what a unit is as the fact it answers
// when that is asked: "3.5 ton, 410, piston". It must stand alone between commas, or
// right in front of another fact, "410 txv", in a message that states other facts and,
// in a list, reads nothing.
func (m *message) listedFacts() {
	if len(m.out.Facts) == 0 {
		return
	}
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.kind != figure || v.units != nil || len(m.toks[v.first].text) < 2 || m.placedAt(k) || !(len(m.out.Facts) > 1 && len(m.found) == 0 && m.between(v.first, v.last) || m.leadsFact(v)) {
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

// leadsFact tells a figure that begins a clause right in front of words that state a
// fact.
func (m *message) leadsFact(v *value) bool {
	i := v.last
	if m.isWord(i, "with") || m.isWord(i, "and") || m.isWord(i, "a") {
		i++
	}
	if m.isWord(i, "a") {
		i++
	}
	return (v.first == 0 || m.endsClause(v.first-1)) && slices.Contains(m.stated, i)
}

// between tells that a stretch stands alone between commas or the ends of a message.
func (m *message) between(first, last int) bool {
	ends := func(t token) bool { return t.text == "," || t.kind == lineToken || t.text == "." || t.text == ";" }
	return ends(m.tok(first-1)) && ends(m.tok(last))
}
