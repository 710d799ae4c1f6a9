package understand

import (
	"slices"
	"strings"

	"proveout/knowledge"
)

// home is a component a reading may be spoken of by, and how well.
type home struct {
	comp  *component
	score int
}

// sure is the score below which a component is not what "it" means.
const sure = 4

// compileHomes finds, for every reading, the components "it" may mean after it.
func (r *Reader) compileHomes() {
	r.twins = map[knowledge.ReadingID]knowledge.ReadingID{}
	for _, c := range r.byOrder() {
		if len(c.Indoors) > 0 && len(c.At) > 0 && c.Terminal != "" {
			r.twins[c.At[0]], r.twins[c.Indoors[0]] = c.Indoors[0], c.At[0]
		}
		if len(c.Both) == 2 && !c.All || c.In != nil && c.Out != nil || len(c.Both) == 2 && c.Point {
			r.sided = append(r.sided, c)
		}
		if len(c.Subjects) == 1 && len(c.At) > 0 {
			r.measured[c.Subjects[0]] = append(r.measured[c.Subjects[0]], c.At...)
		}
		lists := []struct {
			ids   []knowledge.ReadingID
			score int
		}{{c.Out, 4}, {c.Across, 4}, {c.At, 3}, {c.In, 2}}
		for _, l := range lists {
			for _, id := range l.ids {
				r.addHome(id, c, l.score)
			}
		}
	}
	for id := range r.homes {
		slices.SortStableFunc(r.homes[id], func(a, b home) int { return b.score - a.score })
	}
}

func (r *Reader) byOrder() []*component {
	out := make([]*component, 0, len(r.components))
	for _, c := range r.components {
		out = append(out, c)
	}
	slices.SortFunc(out, func(a, b *component) int { return a.order - b.order })
	return out
}

func (r *Reader) addHome(id knowledge.ReadingID, c *component, score int) {
	switch point := id.Point(); {
	case point == c.name:
		score += 4
	case strings.Contains(point, c.name):
		score += 2
	}
	for i := range r.homes[id] {
		if h := &r.homes[id][i]; h.comp == c {
			h.score = max(h.score, score)
			return
		}
	}
	r.homes[id] = append(r.homes[id], home{c, score})
}

// spokenOf are the readings the talk was last about, the nearest first.
func (m *message) spokenOf() []knowledge.ReadingID {
	var out []knowledge.ReadingID
	if m.ctx.Asked != "" {
		out = append(out, m.ctx.Asked)
	}
	if n := len(m.ctx.Earlier); n > 0 && m.ctx.Earlier[n-1].Reading != m.ctx.Asked {
		out = append(out, m.ctx.Earlier[n-1].Reading)
	}
	return out
}

// meant finds the component of the talk a bare relation speaks of: "27 across it".
func (m *message) meant(rel relation, v *value) *component {
	for _, id := range m.spokenOf() {
		for _, h := range m.r.homes[id] {
			if h.score < sure || !h.comp.side(rel) && (rel != relAcross || !h.comp.Point) {
				continue
			}
			if m.takes(h.comp, rel, v) {
				return h.comp
			}
		}
	}
	return nil
}

// takes tells whether a value can stand at a side of a component.
func (m *message) takes(c *component, rel relation, v *value) bool {
	p := place{comp: c, rel: rel, related: true}
	m.choose(&p)
	for _, id := range p.ids {
		if m.admits(v, nil, id) && m.usual(v, id) {
			return true
		}
	}
	return false
}

// byUnitNear puts first, of the components a phrase can mean, the one read in the unit
// of the figure behind it: "rh in the return is 61 percent" is no terminal.
func (m *message) byUnitNear(c *chunk) {
	if len(c.means) < 2 {
		return
	}
	i := c.last
	for i < len(m.toks) && i < c.last+5 && m.at[i] < 0 && !m.endsSentence(i) {
		i++
	}
	if i >= len(m.toks) || m.at[i] < 0 || m.values[m.at[i]].units == nil {
		return
	}
	units := m.values[m.at[i]].units
	for j, x := range c.means {
		if x.kind == isComponent && slices.ContainsFunc(x.comp.At, func(id knowledge.ReadingID) bool { return hasQuantity(units, id.Quantity()) }) {
			if first := c.comp(); first != x.comp {
				c.means = append([]meaning{x}, slices.Delete(slices.Clone(c.means), j, j+1)...)
			}
			return
		}
	}
}

// general puts the part meant in the place of a general word for it.
func (m *message) general() {
	for k := range m.chunks {
		c := &m.chunks[k]
		m.byUnitNear(c)
		g := c.comp()
		if g == nil || len(g.OneOf) == 0 {
			continue
		}
		if meant := m.oneOf(k, g.OneOf); meant != nil {
			c.means = append([]meaning{{kind: isComponent, comp: meant}}, c.means...)
		}
	}
}

// oneOf finds the component a general word stands for: "the switch" is the last
// switch named, else the one of the talk.
func (m *message) oneOf(k int, names []string) *component {
	for j := k - 1; j >= 0; j-- {
		if c := m.chunks[j].comp(); c != nil && slices.Contains(names, c.name) {
			return c
		}
	}
	ids := m.spokenOf()
	for _, v := range slices.Backward(m.ctx.Earlier) {
		ids = append(ids, v.Reading)
	}
	for _, id := range ids {
		for _, h := range m.r.homes[id] {
			if h.score >= sure && slices.Contains(names, h.comp.name) {
				return h.comp
			}
		}
	}
	return nil
}

// otherSide is the reading across from another: the other end of a switch, the
// other section of a capacitor, the other leg.
func (m *message) otherSide(id knowledge.ReadingID) knowledge.ReadingID {
	for _, c := range m.r.sided {
		for _, pair := range [][]knowledge.ReadingID{c.Both, ends(c)} {
			if len(pair) != 2 || !slices.Contains(pair, id) {
				continue
			}
			if pair[0] == id {
				return pair[1]
			}
			return pair[0]
		}
	}
	return ""
}

// ends are the line side and the load side of a part in the same quantity.
func ends(c *component) []knowledge.ReadingID {
	if len(c.In) == 0 || len(c.Out) == 0 || c.In[0].Quantity() != c.Out[0].Quantity() {
		return nil
	}
	if strings.Contains(c.In[0].Point(), c.name) || strings.Contains(c.Out[0].Point(), c.name) {
		return []knowledge.ReadingID{c.In[0], c.Out[0]}
	}
	return nil
}

// across places the values said to be on "the other side" of what was read last,
// in this message or in the talk.
func (m *message) across() {
	for k := range m.chunks {
		c := &m.chunks[k]
		if !c.small(wordOther) || m.nextComponent(k) >= 0 {
			continue
		}
		vi := m.valueBeside(c.first, c.last)
		if vi < 0 {
			continue
		}
		if m.bothSides(vi) {
			continue
		}
		from := m.readLast(c.first, vi)
		id := m.otherSide(from)
		if id == "" || !m.admits(&m.values[vi], nil, id) || m.has(id) && !m.holds(vi, id) {
			continue
		}
		m.dropValue(vi)
		m.found = append(m.found, finding{value: vi, place: -1, id: id, rule: byOtherSide})
	}
}

// bothSides reads "44 on one side and 4.8 on the other" of a part whose larger
// rating is known to be the first: the figure in doubt and this one are its two.
func (m *message) bothSides(vi int) bool {
	n := len(m.doubts)
	if n == 0 || m.doubts[n-1].place < 0 {
		return false
	}
	d := m.doubts[n-1]
	c := m.places[d.place].comp
	if !c.Falling || len(c.Both) != 2 || d.value == vi || !m.admits(&m.values[vi], nil, c.Both[0]) {
		return false
	}
	m.doubts = m.doubts[:n-1]
	m.dropValue(vi)
	m.putTwo(d.value, vi, c.Both, d.place, true)
	return true
}

func (m *message) holds(vi int, id knowledge.ReadingID) bool {
	for i := range m.found {
		if m.found[i].value == vi && m.found[i].id == id {
			return true
		}
	}
	return false
}

func (m *message) dropValue(vi int) {
	m.found = slices.DeleteFunc(m.found, func(f finding) bool { return f.value == vi })
}

// readLast is the reading said last before a token, in the message, the record or
// the question, that has another side.
func (m *message) readLast(tok, not int) knowledge.ReadingID {
	best, at := knowledge.ReadingID(""), -1
	for i := range m.found {
		f := &m.found[i]
		if first := m.values[f.value].first; f.value != not && first < tok && first > at && m.otherSide(f.id) != "" {
			best, at = f.id, first
		}
	}
	if best != "" {
		return best
	}
	if n := len(m.ctx.Earlier); n > 0 && m.otherSide(m.ctx.Earlier[n-1].Reading) != "" {
		return m.ctx.Earlier[n-1].Reading
	}
	return m.ctx.Asked
}

// repeats gives "same at the coil" the value said last: in the message before it,
// else the latest of the record.
func (m *message) repeats() {
	var more []value
	for k := range m.chunks {
		c := &m.chunks[k]
		if !c.small(wordSame) || !m.sameThere(k) && !m.sameBehind(k) {
			continue
		}
		v := exact(c.first, c.last, 0)
		v.pair, v.again = -1, true
		if before := m.figureBefore(c.first); before >= 0 {
			b := &m.values[before]
			v.kind, v.v, v.low, v.high, v.approx, v.units = b.kind, b.v, b.low, b.high, b.approx, b.units
		} else if n := len(m.ctx.Earlier); n > 0 {
			e := &m.ctx.Earlier[n-1]
			v.v, v.low, v.high, v.approx = float64(e.Value), float64(e.Value), float64(e.Value), e.Approximate
			v.quantity = e.Reading.Quantity()
		} else {
			continue
		}
		more = append(more, v)
	}
	for _, v := range more {
		m.values = append(m.values, v)
		for j := v.first; j < v.last; j++ {
			if m.at[j] < 0 {
				m.at[j] = int32(len(m.values) - 1)
			}
		}
	}
	if more != nil {
		m.order()
	}
}

// sameThere tells that "same" is followed by where: "same at the coil", "same on
// the other side".
func (m *message) sameThere(k int) bool {
	c := &m.chunks[k]
	if k+1 >= len(m.chunks) || m.claimed[c.first] {
		return false
	}
	next := &m.chunks[k+1]
	if _, rel := next.rel(); next.first-c.last > 1 || !rel && !next.small(wordOther) {
		return false
	}
	for j := k + 1; j < len(m.chunks) && j <= k+4 && m.gapWords(m.chunks[j-1].last, m.chunks[j].first) < 3; j++ {
		if m.chunks[j].small(wordOther) || m.chunks[j].comp() != nil {
			return !m.figureNext(m.chunks[j].last)
		}
	}
	return false
}

// sameBehind tells that "same" ends the clause of a place it stands right behind, after
// a figure: "L1 L2 238, T1 T2 same".
func (m *message) sameBehind(k int) bool {
	c := &m.chunks[k]
	if k == 0 || m.claimed[c.first] || !m.isWord(c.last-1, "same") || c.last < len(m.toks) && m.toks[c.last].kind == wordToken {
		return false
	}
	before := &m.chunks[k-1]
	_, rel := before.rel()
	return (before.comp() != nil || rel) && m.onlyFiller(before.last, c.first) && m.figureBefore(before.first) >= 0
}

// figureNext tells whether a figure follows closely: "still at the coil 24".
func (m *message) figureNext(i int) bool {
	for j := i; j < min(len(m.toks), i+3) && m.toks[j].text != "," && !m.endsSentence(j); j++ {
		if m.at[j] >= 0 {
			return true
		}
	}
	return false
}

func (m *message) figureBefore(tok int) int {
	for k := len(m.values) - 1; k >= 0; k-- {
		if v := &m.values[k]; v.last <= tok && v.use == open {
			return k
		}
	}
	return -1
}
