package understand

import (
	"slices"
	"strings"

	"proveout/knowledge"
)

// spoken is a scale degrees may be in where a language is spoken.
type spoken struct {
	in   languages
	name string
}

// scale settles the degrees a message leaves open. Where a language's speakers may
// mean another scale than the kept one, a figure is in the one that makes it usual for
// its point: "retorno 24 grados" is no 24 °F. Where both do, the other temperatures of
// the message tell, then the last one told before, and if nothing does it is asked. A
// difference follows them: alone it tells no scale.
func (m *message) scale() {
	name := m.otherScale()
	if name == "" {
		return
	}
	told := m.scaleTold(name)
	m.found = slices.DeleteFunc(m.found, func(f finding) bool {
		v, q := &m.values[f.value], f.id.Quantity()
		other, ok := m.r.unitNamed(q, name)
		if !ok || !m.leavesScale(v, q) {
			return false
		}
		s := m.scaleOf(&f, name)
		if s == mixed && told == "" {
			v.use = spent
			m.doubts = append(m.doubts, doubted{value: f.value, place: f.place, options: []knowledge.ReadingID{f.id}, scales: []string{m.r.keptName(q), name}})
			return true
		}
		if s == mixed || other.offset == 0 {
			s = told
		}
		if s == name {
			other.meant = true
			v.units = []unit{other}
		}
		return false
	})
}

// mixed is said of a figure that either scale makes usual.
const mixed = "either"

// scaleTold is the scale that the surer figures of the message tell, or what was told
// before, or "".
func (m *message) scaleTold(name string) string {
	if m.ctx.scale != "" {
		return m.ctx.scale
	}
	told := ""
	for i := range m.found {
		s := m.scaleOf(&m.found[i], name)
		if s == "" || s == mixed || s == told {
			continue
		}
		if told != "" {
			return m.scaleBefore(name)
		}
		told = s
	}
	if told == "" {
		return m.scaleBefore(name)
	}
	return told
}

// scaleOf is the scale a figure of a temperature is said in, or that alone makes it
// usual for its point; mixed when both do, "" when it is no temperature or neither does.
func (m *message) scaleOf(f *finding, name string) string {
	v, q := &m.values[f.value], f.id.Quantity()
	other, ok := m.r.unitNamed(q, name)
	if !ok || other.offset == 0 || v.kind != figure {
		return ""
	}
	if !m.leavesScale(v, q) {
		return v.units[0].name
	}
	lent := *v
	lent.units = []unit{other}
	kept, inOther := m.usual(v, f.id), m.usual(&lent, f.id)
	switch {
	case kept && inOther:
		return mixed
	case inOther:
		return name
	case kept:
		return m.r.keptName(q)
	}
	return ""
}

// otherScale is the scale bare degrees may be in besides the kept one: that of a
// language the message is in, or one temperatures were given in before.
func (m *message) otherScale() string {
	for _, s := range m.r.scales {
		if s.in&m.in != 0 || m.ctx.scale != "" || m.scaleBefore(s.name) == s.name {
			return s.name
		}
	}
	return ""
}

// scaleBefore is the scale of the temperature last told before, or "".
func (m *message) scaleBefore(name string) string {
	for _, e := range slices.Backward(m.ctx.Earlier) {
		q := e.Reading.Quantity()
		if u, ok := m.r.unitNamed(q, name); !ok || u.offset == 0 {
			continue
		}
		if e.Said != "" {
			return name // the only one it is converted from
		}
		return m.r.keptName(q)
	}
	return ""
}

// leavesScale tells a figure whose words name no scale: a bare one, or "degrees",
// which other units of its quantity begin with.
func (m *message) leavesScale(v *value, q string) bool {
	if v.kind != figure || v.hint != "" {
		return false
	}
	return v.units == nil || slices.ContainsFunc(v.units, func(u unit) bool { return u.quantity == q && u.opens })
}

// unitNamed is a quantity's unit of a name, if it has one.
func (r *Reader) unitNamed(quantity, name string) (unit, bool) {
	if q := r.base.Quantities[quantity]; q != nil {
		for _, u := range q.Units {
			if u.Name == name {
				return unit{quantity: quantity, name: u.Name, factor: u.Factor, offset: u.Offset}, true
			}
		}
	}
	return unit{}, false
}

// keptName is the name of the unit a quantity is kept in.
func (r *Reader) keptName(quantity string) string {
	for _, u := range r.base.Quantities[quantity].Units {
		if u.Factor == 1 && u.Offset == 0 {
			return u.Name
		}
	}
	return ""
}

// scaleNamed is the one of some scales an answer names, or "".
func (r *Reader) scaleNamed(answer string, scales []string) string {
	toks := tokenize(answer)
	for i := range toks {
		toks[i].id = r.vocab.id(toks[i].text)
	}
	for i := range toks {
		us, end := r.units.longest(toks, i, ^languages(0))
		if end == i {
			continue
		}
		for _, u := range r.unitLists[us[0].index] {
			if !u.opens && slices.Contains(scales, u.name) {
				return u.name
			}
		}
	}
	return ""
}

// opensScale marks the unit words that other units of the quantity begin with:
// "degrees" says less than "degrees C".
func opensScale(byWords map[string][]unit) {
	for words, us := range byWords {
		for i := range us {
			us[i].opens = slices.ContainsFunc(beginWith(byWords, words+" "), func(u unit) bool {
				return u.quantity == us[i].quantity && u.name != us[i].name
			})
		}
	}
}

func beginWith(byWords map[string][]unit, start string) []unit {
	var out []unit
	for words, us := range byWords {
		if strings.HasPrefix(words, start) {
			out = append(out, us...)
		}
	}
	return out
}
