package understand

import (
	"math"

	"proveout/knowledge"
)

// fitCost is 0 for a value the place usually has, more for an unusual one.
func (m *message) fitCost(vi, pi int) float64 {
	v, p := &m.values[vi], &m.places[pi]
	if len(p.both) > 0 {
		if v.hint != "" && v.hint != p.both[0].Quantity() {
			return never
		}
		if _, ok := m.bothOf(v, p); ok && (p.comp.All || m.followed(vi) || p.ports(m)) {
			return 0
		}
	}
	ids := m.possible(v, p)
	if len(ids) == 0 || m.hintedElse(v, ids) {
		return never
	}
	for _, id := range ids {
		if m.usual(v, id) {
			return 0
		}
	}
	if v.recalled {
		return never // it is where it was before
	}
	// "High" beside "low side" is the other gauge; with an odd figure it is something else.
	if p.rel == relAt && len(p.comp.Beside) > 0 && p.comp.Bare[1] == 0 && v.units == nil {
		return never
	}
	// A word for a whole place is no point: an odd figure there is something else.
	if p.comp.Place != "" && !p.comp.Point && p.rel == relAt && v.units == nil && p.quantity == "" && len(p.comp.Subjects) > 1 {
		return never
	}
	return 3
}

// followed tells whether another value is joined to this one.
func (m *message) followed(vi int) bool {
	v := &m.values[vi]
	return v.pair >= 0 || vi+1 < len(m.values) && m.values[vi+1].use == open && m.values[vi+1].kind == v.kind && m.joined(v.last, m.values[vi+1].first)
}

// possible lists the place's readings a value can be by its unit and kind.
func (m *message) possible(v *value, p *place) []knowledge.ReadingID {
	ids := make([]knowledge.ReadingID, 0, 4)
	for _, id := range p.ids {
		if m.admits(v, p, id) {
			ids = append(ids, id)
		}
	}
	if p.comp == nil || len(p.comp.Also) == 0 || (p.rel == relIn || p.rel == relOut) && !p.comp.side(p.rel) || len(ids) > 0 && (v.units != nil || v.hint != "" && p.has(v.hint)) {
		return ids
	}
	said := p.quantity
	if v.hint != "" {
		said = v.hint
	}
	if said == "" && v.units == nil {
		said = m.listQuantity(v, p, ids)
	}
	var also []knowledge.ReadingID
	for _, id := range p.comp.Also {
		if v.units != nil && hasQuantity(v.units, id.Quantity()) || v.units == nil && id.Quantity() == said {
			also = append(also, id)
		}
	}
	if also != nil {
		return also
	}
	return ids
}

// listQuantity is the quantity of the list a place stands in, when the value fits
// that more closely than what the place is alone: "tesp .82, filter .31, coil .24".
func (m *message) listQuantity(v *value, p *place, ids []knowledge.ReadingID) string {
	q := m.neighbourQuantity(p)
	if q == "" || v.kind != figure {
		return ""
	}
	for _, id := range p.comp.Also {
		fits, ok := m.r.fits[id]
		if id.Quantity() != q || !ok || !m.usual(v, id) {
			continue
		}
		for _, at := range ids {
			if f, ok := m.r.fits[at]; ok && m.usual(v, at) && f[1]-f[0] <= fits[1]-fits[0] {
				return ""
			}
		}
		return q
	}
	return ""
}

func (m *message) admits(v *value, p *place, id knowledge.ReadingID) bool {
	q := id.Quantity()
	if v.quantity != "" && v.quantity != q {
		return false
	}
	switch v.kind {
	case infinite, continuity:
		return q == "resistance"
	case nothing:
		if q != "voltage" && q != "current" && q != "pressure" && !(q == "temperature-drop" && v.drop) {
			return false
		}
	default: // a figure fits by its unit
	}
	if v.units != nil {
		return hasQuantity(v.units, q)
	}
	if p != nil && p.quantity != "" {
		return q == p.quantity
	}
	if p != nil && v.hint != "" && (p.has(v.hint) || v.hint == "resistance") {
		return q == v.hint
	}
	if p != nil && p.comp.Bare[1] > 0 && !p.pair {
		return (len(p.comp.Beside) == 0 || m.namedBeside(p.comp)) && v.kind == figure && v.v >= p.comp.Bare[0] && v.v <= p.comp.Bare[1]
	}
	// A letter alone names a voltage; amps there must be said.
	return p == nil || p.comp.Terminal == "" || !p.comp.Point || p.pair || q != "current" && q != "resistance"
}

// has tells whether a place has a reading of the quantity.
func (p *place) has(q string) bool {
	for _, id := range p.ids {
		if id.Quantity() == q {
			return true
		}
	}
	return false
}

func hasQuantity(us []unit, q string) bool {
	for _, u := range us {
		if u.quantity == q {
			return true
		}
	}
	return false
}

// usual tells whether a value lies where the reading usually does.
func (m *message) usual(v *value, id knowledge.ReadingID) bool {
	fits, ok := m.r.fits[id]
	if q := id.Quantity(); v.kind == figure && v.v == 0 && (q == "voltage" || q == "current") {
		return true
	}
	if !ok || v.kind != figure && v.like == 0 {
		return true
	}
	x, _, _, _ := m.convert(v, id.Quantity())
	if v.like != 0 {
		x = v.like
	}
	return x >= fits[0] && x <= fits[1]
}

// convert gives a value in the unit knowledge keeps the quantity in, with its
// range, and the words of a converted one.
func (m *message) convert(v *value, quantity string) (x, low, high float64, said string) {
	for _, u := range v.units {
		if u.quantity != quantity {
			continue
		}
		if u.kept {
			return v.v, v.low, v.high, ""
		}
		c := func(y float64) float64 { return tidy(y*u.factor + u.offset) }
		said = m.text[m.toks[v.figureStart].start:m.toks[v.last-1].end]
		if u.meant {
			said = m.text[m.toks[v.figureStart].start:m.toks[v.figureEnd-1].end] + " " + u.name
		}
		return c(v.v), math.Min(c(v.low), c(v.high)), math.Max(c(v.low), c(v.high)), said
	}
	return v.v, v.low, v.high, ""
}

// tidy drops the last digits a conversion adds.
func tidy(x float64) float64 {
	if x == 0 || math.IsInf(x, 0) {
		return x
	}
	scale := math.Pow(10, 6-math.Ceil(math.Log10(math.Abs(x))))
	if scale == 0 || math.IsInf(scale, 0) || math.IsNaN(scale) {
		return x
	}
	return math.Round(x*scale) / scale
}
