package understand

import (
	"math"
	"slices"

	"proveout/knowledge"
)

// pick chooses among a place's readings: what the unit says, what was asked,
// what the value usually is; several left open at a torn place are options.
func (m *message) pick(v *value, p *place) (knowledge.ReadingID, []knowledge.ReadingID) {
	ids := m.possible(v, p)
	if of := m.zeroOfEither(v, p, ids); of != nil {
		return "", of
	}
	if of := m.liveOrOhms(v, p, ids); of != nil {
		return "", of
	}
	if p.unpaired {
		return "", ids
	}
	if p.comp.Falling && len(p.both) > 0 && len(ids) > 0 && v.kind == figure && !slices.Contains(ids, m.ctx.Asked) {
		return m.nearRating(v, p.both), p.both
	}
	if p.torn && v.kind == figure && v.units == nil && v.hint == "" && p.quantity == "" && len(p.comp.Also) > 0 && len(m.usualOf(v, ids)) == 0 {
		return "", append(slices.Clone(ids), p.comp.Also...)
	}
	if usual := m.usualOf(v, ids); len(usual) > 0 {
		ids = usual
	}
	if slices.Contains(ids, m.ctx.Asked) {
		return m.ctx.Asked, nil
	}
	if p.torn && len(ids) > 1 && v.units == nil && p.quantity == "" {
		if q := m.neighbourQuantity(p); q != "" {
			ids = narrow(ids, q)
		}
	}
	if p.torn && len(ids) > 1 && p.comp.Place != "" && v.units == nil && v.hint == "" {
		if id := m.otherEnd(v, ids); id != "" {
			return id, nil
		}
	}
	if p.torn && len(ids) > 1 {
		if settled := m.byTalk(v, ids, p); settled != "" {
			return settled, nil
		}
		if id := m.ofTalk(v, p, ids); id != "" {
			return id, nil
		}
		return "", ids
	}
	if len(ids) == 0 {
		return "", nil
	}
	if q := m.spokenQuantity(v.first); v.units == nil && p.quantity == "" && q != "" {
		for _, id := range ids {
			if id.Quantity() == q {
				return id, nil
			}
		}
	}
	if q := m.neighbourQuantity(p); v.units == nil && p.quantity == "" && q != "" {
		for _, id := range ids {
			if id.Quantity() == q {
				return id, nil
			}
		}
	}
	if id := m.ofTalk(v, p, ids); id != "" {
		return id, nil
	}
	return ids[0], nil
}

// ofTalk chooses the reading of the quantity the talk is about, when neither unit
// nor words say another: after one winding's ohms "c to r 0.8" is ohms too.
func (m *message) ofTalk(v *value, p *place, ids []knowledge.ReadingID) knowledge.ReadingID {
	if v.units != nil || v.hint != "" || p.quantity != "" || v.kind != figure {
		return ""
	}
	for _, said := range m.spokenOf() {
		if said != m.ctx.Asked && !p.torn && !(p.pair && m.r.paired[said]) {
			continue // what was read before lends its quantity only where it must
		}
		of := narrow(ids, said.Quantity())
		if p.torn && len(of) > 1 && of[0].Quantity() == said.Quantity() {
			return m.byTalk(v, of, p)
		}
		if of[0].Quantity() == said.Quantity() && len(of) < len(ids) && (len(of) == 1 || !p.torn) {
			return of[0]
		}
	}
	return ""
}

// neighbourQuantity is the one quantity the places beside this one can have:
// "c-r 1.1, c-s 3.2" are both ohms.
func (m *message) neighbourQuantity(p *place) string {
	i, ok := slices.BinarySearchFunc(m.places, p.first, func(x place, at int) int { return x.first - at })
	if !ok {
		return ""
	}
	for _, j := range []int{i + 1, i - 1} {
		if j < 0 || j >= len(m.places) || m.places[j].pair != p.pair || m.places[j].first-p.last > 8 || p.first-m.places[j].last > 8 {
			continue
		}
		ids := m.places[j].ids
		if len(ids) == 0 {
			ids = m.places[j].comp.Also
		}
		if q := oneQuantity(ids); q != "" {
			return q
		}
	}
	return ""
}

// narrow keeps the readings of one quantity, or all when none is.
func narrow(ids []knowledge.ReadingID, q string) []knowledge.ReadingID {
	var out []knowledge.ReadingID
	for _, id := range ids {
		if id.Quantity() == q {
			out = append(out, id)
		}
	}
	if out == nil {
		return ids
	}
	return out
}

func oneQuantity(ids []knowledge.ReadingID) string {
	q := ""
	for _, id := range ids {
		if q != "" && q != id.Quantity() {
			return ""
		}
		q = id.Quantity()
	}
	return q
}

func (m *message) usualOf(v *value, ids []knowledge.ReadingID) []knowledge.ReadingID {
	var out []knowledge.ReadingID
	for _, id := range ids {
		if m.usual(v, id) {
			out = append(out, id)
		}
	}
	return out
}

// byTalk settles a torn place by its place cue, the quantity spoken of or the
// rating known.
func (m *message) byTalk(v *value, ids []knowledge.ReadingID, p *place) knowledge.ReadingID {
	if len(p.both) > 0 {
		return m.nearRating(v, p.both)
	}
	q := m.spokenQuantity(v.first)
	if q == "" || v.units != nil {
		q = ids[0].Quantity()
		for _, id := range ids {
			if id.Quantity() != q {
				q = ""
				break
			}
		}
		if q == "" {
			return ""
		}
	}
	var same []knowledge.ReadingID
	for _, id := range ids {
		if id.Quantity() == q {
			same = append(same, id)
		}
	}
	if len(same) == 1 {
		return same[0]
	}
	if place := m.placeNear(p.first, p.last, p.comp); p.comp.Indoors != nil && place != "" {
		for _, id := range same {
			if slices.Contains(p.comp.Indoors, id) == (place == "indoor") {
				return id
			}
		}
	}
	return ""
}

// nearRating tells which side of a dual capacitor a lone value belongs to: the
// one whose rating it is near. Ratings come from the record or the message.
func (m *message) nearRating(v *value, ids []knowledge.ReadingID) knowledge.ReadingID {
	best, bestOff, second := knowledge.ReadingID(""), math.Inf(1), math.Inf(1)
	for _, id := range ids {
		rated, ok := m.rating(id)
		if !ok && m.onlyRated(ids) != "" {
			continue
		}
		if !ok || rated <= 0 {
			return ""
		}
		off := math.Abs(math.Log(math.Max(v.v, 0.01) / rated))
		if off < bestOff {
			best, bestOff, second = id, off, bestOff
		} else {
			second = math.Min(second, off)
		}
	}
	if one := m.onlyRated(ids); one != "" && v.v <= 1.4*m.ratingOf(one) {
		return one
	}
	if bestOff < 0.6 && second > 2*bestOff {
		return best
	}
	return ""
}

// onlyRated is the one of two readings whose rating this message states when the
// other's is not known: "cap 7.5 reads 2.1".
func (m *message) onlyRated(ids []knowledge.ReadingID) knowledge.ReadingID {
	one := knowledge.ReadingID("")
	for _, id := range ids {
		if _, ok := m.rating(id); !ok {
			continue
		}
		if one != "" || !m.ratedHere(id) {
			return ""
		}
		one = id
	}
	return one
}

func (m *message) ratingOf(id knowledge.ReadingID) float64 {
	x, _ := m.rating(id)
	return x
}

func (m *message) rating(id knowledge.ReadingID) (float64, bool) {
	fact := id.Point() + "-rating"
	for _, f := range m.out.Facts {
		if f.Fact == fact {
			return parse(f.Value)
		}
	}
	return parse(m.ctx.Facts[fact])
}

// spokenQuantity is the quantity the message was last speaking of before a
// token, by a quantity word or the unit of a value.
func (m *message) spokenQuantity(at int) string {
	q := ""
	for i := m.chunkBefore(at); i >= 0 && i > m.chunkBefore(at)-8; i-- {
		if x := m.chunks[i].quantity(); x != "" {
			return x
		}
	}
	return q
}

// chunkBefore is the last chunk starting before a token.
func (m *message) chunkBefore(at int) int {
	i, _ := slices.BinarySearchFunc(m.chunks, at, func(c chunk, at int) int { return c.first - at })
	return i - 1
}
