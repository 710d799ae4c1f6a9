package understand

import (
	"slices"
	"strings"

	"proveout/knowledge"
)

// isSized tells that the last figures of a claim are sizes the thing is made in,
// and that the message speaks of it: "45/5", "fan cap reads 1.1 rated 5".
func (m *message) isSized(x match) bool {
	if x.found == 0 {
		return false
	}
	if x.with != "" {
		return x.found > 1 && m.sizedPair(x)
	}
	last := &m.values[x.numbers[x.found-1]]
	quantity, ok := m.sizeOf(last, x.id)
	if !ok {
		return false
	}
	if x.found > 1 {
		read := &m.values[x.numbers[0]]
		return (read.units == nil || hasQuantity(read.units, quantity)) && read.v <= 1.4*last.v && read.v >= 0.3*last.v
	}
	return m.speaksOf(x.last, quantity)
}

// sizedPair tells two sizes said together that nobody says were read.
func (m *message) sizedPair(x match) bool {
	a, b := &m.values[x.numbers[0]], &m.values[x.numbers[1]]
	if a.v < b.v {
		a, b = b, a
	}
	quantity, ok := m.sizeOf(a, x.id)
	if _, with := m.sizeOf(b, x.with); !ok || !with || m.ctx.Asked.Quantity() == quantity {
		return false
	}
	for i := x.first - 1; i >= 0 && i >= x.first-3; i-- {
		switch m.toks[i].text {
		case "reads", "reading", "read", "tests", "tested", "measures", "measured", "getting", "got", "shows":
			return false
		}
	}
	return true
}

// sizeOf tells that a figure is a size of a fact, and the quantity sizes are in.
func (m *message) sizeOf(v *value, fact string) (string, bool) {
	f := m.r.base.Facts[fact]
	if f == nil || !slices.Contains(m.r.sizes[fact], v.v) || v.units != nil && !m.r.inUnit(v.units, f.Unit) {
		return "", false
	}
	return m.r.quantityIn(f.Unit), true
}

// speaksOf tells that a quantity was asked or a part that has it was named before.
func (m *message) speaksOf(before int, quantity string) bool {
	if m.ctx.Asked.Quantity() == quantity {
		return true
	}
	for k := range m.chunks {
		c := m.chunks[k].comp()
		if m.chunks[k].first < before && c != nil && len(c.At) > 0 && c.At[0].Quantity() == quantity {
			return true
		}
	}
	return false
}

// quantityIn is the quantity knowledge keeps in a unit.
func (r *Reader) quantityIn(unit string) string {
	for _, q := range r.byUnit[unit] {
		return q
	}
	return ""
}

// inUnit tells that a said unit is of a quantity kept in the fact's unit.
func (r *Reader) inUnit(us []unit, kept string) bool {
	if len(r.byUnit[kept]) == 0 {
		return true
	}
	for _, q := range r.byUnit[kept] {
		if hasQuantity(us, q) {
			return true
		}
	}
	return false
}

// readElsewhere tells that the part read before a rating is another than the rating's:
// "condenser fan pulls 1.1 amps, rated 1.3" rates no compressor.
func (m *message) readElsewhere(x match) bool {
	quantity := m.r.quantityIn(m.r.base.Facts[x.id].Unit)
	for k := m.chunkBefore(x.first); k >= 0 && m.sameSentence(m.chunks[k].first, x.first); k-- {
		c := m.chunks[k].comp()
		if c == nil {
			continue
		}
		for _, id := range c.At {
			if id.Quantity() == quantity {
				return !strings.HasPrefix(id.Point(), x.part)
			}
		}
	}
	return false
}

// figureBehind prefers the figure behind a word to the one before it, "comp amps
// 14 rla 16", unless that figure has a word of its own: "14.2 rla 68 lra".
func (m *message) figureBehind(claims []match) []match {
	return slices.DeleteFunc(slices.Clone(claims), func(x match) bool {
		if x.what != factPattern || m.numberAt(x.first) < 0 || x.found != 1 {
			return false
		}
		return slices.ContainsFunc(claims, func(y match) bool {
			if y.what != factPattern || y.id != x.id || y.first <= x.first || y.first >= x.last || y.found != 1 {
				return false
			}
			figure := m.values[y.numbers[0]].first
			return figure >= x.last && !slices.ContainsFunc(claims, func(z match) bool {
				return z.what == factPattern && z.id != x.id && z.first == figure && !m.figureAfter(z.last)
			})
		})
	})
}

// figureAfter tells that a figure stands right at a token: "lra 80 rla 19" gives each
// word the figure behind it.
func (m *message) figureAfter(i int) bool {
	for m.isWord(i, "is") || m.isWord(i, "of") || m.isWord(i, "at") {
		i++
	}
	return m.numberAt(i) >= 0
}

// readBesideRating places two figures in a row that lie near the two ratings this
// very message states: "put in a 45/5, reads 45.1 and 5.0".
func (m *message) readBesideRating() {
	if len(m.out.Facts) == 0 {
		return
	}
	for _, c := range m.r.falling {
		if !m.ratedHere(c.Both[0]) || !m.ratedHere(c.Both[1]) {
			continue
		}
		for k := 0; k+1 < len(m.values); k++ {
			a, b := &m.values[k], &m.values[k+1]
			if a.use != open || b.use != open || a.kind != figure || b.kind != figure || !m.joined(a.last, b.first) {
				continue
			}
			x, y := m.nearRating(a, c.Both), m.nearRating(b, c.Both)
			if x == "" || y == "" || x == y || !m.admits(a, nil, x) || !m.admits(b, nil, y) {
				continue
			}
			m.found = append(m.found, finding{value: k, place: -1, id: x, rule: byRating}, finding{value: k + 1, place: -1, id: y, rule: byRating})
			a.use, b.use = placed, placed
			break
		}
	}
}

// ratedHere tells that this message itself states the rating of a reading's part.
func (m *message) ratedHere(id knowledge.ReadingID) bool {
	return slices.ContainsFunc(m.out.Facts, func(f Fact) bool { return f.Fact == id.Point()+"-rating" })
}

// besideItsRating places a bare figure near the one rating this message states:
// "7.4 on a 7.5".
func (m *message) besideItsRating(v *value) knowledge.ReadingID {
	if v.kind != figure || len(m.out.Facts) == 0 {
		return ""
	}
	for _, c := range m.r.falling {
		for _, id := range c.Both {
			rated, ok := m.rating(id)
			if ok && m.ratedHere(id) && m.admits(v, nil, id) && v.v <= 1.4*rated && !m.has(id) {
				return id
			}
		}
	}
	return ""
}
