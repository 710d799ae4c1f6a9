package understand

import (
	"slices"

	"proveout/knowledge"
)

// samePart tells that "load side" speaks of the other side of the part just named
// with one of its sides, not of its own component.
func (m *message) samePart(k int) bool {
	rel, ok := m.chunks[k].rel()
	if !ok || rel != relIn && rel != relOut || len(m.places) == 0 {
		return false
	}
	p := &m.places[len(m.places)-1]
	return p.related && (p.rel == relIn || p.rel == relOut) && p.comp.In != nil && p.comp.Out != nil && m.chunks[k].first-p.last <= farthest
}

// dangling makes a place of a side said without its part: "240 in, 0 out",
// "26 out of it". The part is the one spoken of before.
func (m *message) dangling(k int) {
	c := &m.chunks[k]
	rel, ok := c.rel()
	if !ok || rel == relAt || rel == relAcross && !m.pronounAt(c.last) || m.nextComponent(k) >= 0 || len(m.places) > 0 && m.places[len(m.places)-1].last > c.first || m.ofMachine(k) || m.isWord(c.last, "temps") || m.isWord(c.last, "temp") {
		return
	}
	p := place{first: c.first, last: c.last, rel: rel, related: true, leading: m.pronounAt(c.last), chunk: k}
	if p.leading {
		p.last++
	}
	for p.first > 0 && m.at[p.first-1] < 0 && (m.filler(p.first-1) || m.isWord(p.first-1, "on") || m.isWord(p.first-1, "at")) {
		p.first, p.leading = p.first-1, true
	}
	p.hanging = true
	v := m.valueBeside(p.first, p.last)
	if v < 0 || m.chatter(&m.values[v]) {
		return
	}
	if rel == relGround && !m.ofOhms(&m.values[v]) {
		return
	}
	if p.comp = m.partOf(k, rel, v, m.pronounAt(c.last)); p.comp == nil {
		m.values[v].barred = m.pronounAt(c.last)
		return
	}
	m.choose(&p)
	m.places = append(m.places, p)
}

// ofOhms tells a value that is a resistance by its unit or kind.
func (m *message) ofOhms(v *value) bool {
	return v.kind == infinite || hasQuantity(v.units, "resistance")
}

// partOf finds the part a bare side belongs to: the one spoken of before, the one
// named next, or one a bare side usually means and the value fits.
func (m *message) partOf(k int, rel relation, v int, it bool) *component {
	if out := m.r.components["outdoor-air"]; rel == relOut && out != nil && m.weather(m.values[v].first, m.chunks[k].last) && m.usual(&m.values[v], out.At[0]) {
		return out
	}
	if last := m.readPlace(); last != nil {
		if last.unpaired && m.sameSentence(last.last, m.chunks[k].first) {
			return nil
		}
		if c := m.partOfSide(last); c != nil && c.side(rel) {
			return c
		}
		c := last.comp
		if c.side(rel) {
			return c
		}
		if rel != relGround && !it && !m.airBefore() && !m.inAndOut() {
			return nil
		}
	}
	if c := m.meant(rel, &m.values[v]); c != nil && rel != relGround {
		return c
	}
	if it {
		return nil
	}
	for j := k + 1; rel != relGround && j < len(m.chunks) && m.chunks[j].first-m.chunks[k].last <= 8; j++ {
		if c := m.chunks[j].comp(); c != nil && c.In != nil && c.Out != nil {
			return c
		}
	}
	return m.usuallyMeant(k, rel, v)
}

// partOfSide is the part one of whose sides a place is: the drier for "drier inlet".
func (m *message) partOfSide(p *place) *component {
	if len(p.ids) != 1 || p.related {
		return nil
	}
	for _, c := range m.r.sided {
		if slices.Contains(ends(c), p.ids[0]) {
			return c
		}
	}
	return nil
}

// readPlace is the last place so far that something is read at, or nil: "lugs top 243
// bottom 0" names no part a meter is read on.
func (m *message) readPlace() *place {
	for i := len(m.places) - 1; i >= 0; i-- {
		if p := &m.places[i]; len(p.ids)+len(p.both) > 0 || p.comp.In != nil || p.comp.Out != nil {
			return p
		}
	}
	return nil
}

// usuallyMeant is the part a bare side means when nothing before says: the first
// that the value fits. Where two of one quantity fit and the message gives no
// other end, "85 out" may be either and is asked about.
func (m *message) usuallyMeant(k int, rel relation, v int) *component {
	var found *component
	var first knowledge.ReadingID
	named := m.readPlace() != nil
	for _, name := range m.r.dangling[rel] {
		c := m.r.components[name]
		if c == nil || rel != relGround && m.chunks[k].last-m.chunks[k].first > 1 || c.In == nil && c.Out == nil && rel != relGround && len(m.toks[m.chunks[k].first].text) > 3 {
			continue
		}
		p := place{comp: c, rel: rel, related: true}
		m.choose(&p)
		for _, id := range p.ids {
			if named && !m.airBefore() && id.Quantity() == "voltage" {
				continue
			}
			if !m.admits(&m.values[v], nil, id) || !m.usual(&m.values[v], id) {
				continue
			}
			if found == nil {
				found, first = c, id
			} else if id.Quantity() == first.Quantity() && !named && !m.inAndOut() && !m.askedQuantity(first.Quantity()) {
				m.doubt(v, -1, []knowledge.ReadingID{first, id})
				return nil
			}
			break
		}
	}
	return found
}

// airBefore tells that the message spoke of the air before.
func (m *message) airBefore() bool {
	for i := max(0, len(m.places)-8); i < len(m.places); i++ {
		if m.airPlace(i) {
			return true
		}
	}
	return false
}

// inAndOut tells that the message gives one figure in and another out.
func (m *message) inAndOut() bool {
	in, out := false, false
	for k := range m.chunks {
		if rel, ok := m.chunks[k].rel(); ok && m.chunks[k].last-m.chunks[k].first == 1 && m.valueBeside(m.chunks[k].first, m.chunks[k].last) >= 0 {
			in, out = in || rel == relIn, out || rel == relOut
		}
	}
	return in && out
}

// airPlace tells whether a place is the air a bare "in" or "out" may add to.
func (m *message) airPlace(i int) bool {
	c := m.places[i].comp
	for _, names := range m.r.dangling {
		for _, name := range names {
			if c == m.r.components[name] {
				return true
			}
		}
	}
	return false
}

// valueBeside is the value that touches the tokens, or nearly, or -1.
func (m *message) valueBeside(first, last int) int {
	for _, i := range []int{first - 1, last, first - 2, last + 1} {
		if i >= 0 && i < len(m.toks) && m.at[i] >= 0 && m.values[m.at[i]].use == open {
			return int(m.at[i])
		}
	}
	return -1
}

// sidesOfPart reads "both sides" after a part with two sides as those of the part.
func (m *message) sidesOfPart(p *place) {
	n := len(m.places)
	if !p.comp.All || p.comp.Point {
		return
	}
	if j := m.nextComponent(p.chunk); j >= 0 && m.isWord(p.last, "of") {
		if c := m.chunks[j].comp(); c.In != nil && c.Out != nil {
			p.both, p.sides, p.last = []knowledge.ReadingID{c.In[0], c.Out[0]}, true, m.chunks[j].last
		}
		return
	}
	if n == 0 {
		m.sidesOfTalk(p)
		return
	}
	if last := m.toks[p.last-1].text; last != "sides" && last != "side" && last != "ends" && p.comp.name != "in-and-out" {
		return
	}
	c := m.places[n-1].comp
	if c.In == nil || c.Out == nil || !m.fitsSides(p, c) || p.first-m.places[n-1].last > 6 || !m.sameSentence(m.places[n-1].last, p.first) {
		return
	}
	p.both, p.sides = []knowledge.ReadingID{c.In[0], c.Out[0]}, true
}

// sidesOfTalk reads "240 both sides" as those of the part that was asked about.
func (m *message) sidesOfTalk(p *place) {
	v := m.valueBeside(p.first, p.last)
	if v < 0 || !m.isWord(p.last-1, "sides") || p.chunk > 0 && m.chunks[p.chunk-1].last == p.first && m.chunks[p.chunk-1].comp() != nil {
		return
	}
	for _, h := range m.r.homes[m.ctx.Asked] {
		if pair := ends(h.comp); pair != nil && h.score >= sure && m.admits(&m.values[v], nil, pair[0]) && m.usual(&m.values[v], pair[1]) {
			p.both, p.sides = pair, true
			return
		}
	}
}

// fitsSides refuses a figure no side of the part could have: "250 both sides"
// after a pressure switch is of the gauges.
func (m *message) fitsSides(p *place, c *component) bool {
	v := m.valueBeside(p.first, p.last)
	return v < 0 || m.usual(&m.values[v], c.In[0]) || m.usual(&m.values[v], c.Out[0])
}

// locates tells that a place only says where the one before it is: "y at the
// contactor", "wet bulb in the return".
func (m *message) locates(p *place) {
	n := len(m.places)
	if n > 0 && !p.related && p.comp.Place != "" && len(p.comp.Also) > 0 && m.places[n-1].last == p.first && m.places[n-1].comp.Terminal != "" {
		p.lends = true // "yellow to ground outside"
		return
	}
	if n == 0 || !p.leading || p.rel != relAt || p.pair || len(p.both) > 0 {
		return
	}
	q := &m.places[n-1]
	if q.pair && p.first-q.last <= 1 {
		for _, k := range []string{q.ends[0] + " " + q.ends[1], q.ends[1] + " " + q.ends[0]} {
			if ids := p.comp.Pairs[k]; ids != nil {
				q.ids, q.fixed, p.lends = ids, true, true
			}
		}
	}
	if q.last == p.first && len(q.ids) > 0 && !q.lends && len(p.comp.Indoors) == 0 {
		p.lends = true
	}
}

// controlPair tells a pair of terminals that exists at both units.
func (m *message) controlPair(p *place) bool {
	return len(p.ids) > 0 && len(p.comp.At) > 0 && p.ids[0] == p.comp.At[0]
}

// side tells whether a component has readings for a relation.
func (c *component) side(r relation) bool {
	switch r {
	case relIn:
		return c.In != nil
	case relOut:
		return c.Out != nil
	case relAcross:
		return c.Across != nil
	case relGround:
		return c.Ground != nil
	default:
		return c.At != nil
	}
}

// isSide tells a relation that may be followed by "on the": "out on the switch".
func (m *message) isSide(k int) bool {
	rel, ok := m.chunks[k].rel()
	return ok && rel != relAt
}

// pronounAt tells a word that stands for the part spoken of.
func (m *message) pronounAt(i int) bool {
	switch m.tok(i).text {
	case "it", "that", "this", "them", "those":
		c := m.chunkAt(i + 1)
		return m.tok(i).kind == wordToken && (c == nil || c.comp() == nil)
	}
	return false
}

// standing lets a word that tells the machine's state, "standing", lend it to the
// point named right before: "suction standing at 140" is the suction alone.
func (m *message) standing(p *place) {
	if len(m.places) == 0 || p.comp.State == "" {
		return
	}
	q := &m.places[len(m.places)-1]
	if len(q.ids) == 0 || p.first-q.last > 1 || !slices.ContainsFunc(q.ids, func(id knowledge.ReadingID) bool { return slices.Contains(p.both, id) }) {
		return
	}
	q.state, q.ids, q.torn = p.comp.State, narrow(q.ids, p.both[0].Quantity()), false
	p.lends, p.both, p.ids = true, nil, nil
}

// weather tells "it's about 95 out" and "95 out here today": the figure stands by
// what is said of the day.
func (m *message) weather(at, after int) bool {
	if m.marks(after, wordToday) {
		return true
	}
	for i := at - 1; i >= 0 && i >= at-3; i-- {
		if m.marks(i, wordItIs) {
			return true
		}
	}
	return false
}

// ratedSides reads "the 45 side" as the side of a capacitor that is marked 45: by
// the ratings known, else by what each side can be marked.
func (m *message) ratedSides() {
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.kind != figure || v.units != nil || !m.isWord(v.last, "side") && !m.isWord(v.last, "section") {
			continue
		}
		for _, c := range m.r.falling {
			if id := m.marked(v.v, c.Both); id != "" {
				v.use = aside
				m.sides = append(m.sides, place{first: v.first, last: v.last + 1, comp: c, ids: []knowledge.ReadingID{id}, pair: true, fixed: true})
			}
		}
	}
}

// marked is the one side a rating can be of.
func (m *message) marked(x float64, ids []knowledge.ReadingID) knowledge.ReadingID {
	found := knowledge.ReadingID("")
	for _, id := range ids {
		rated, known := m.rating(id)
		f := m.r.base.Facts[id.Point()+"-rating"]
		if known && rated == x {
			return id
		}
		if known || f == nil || x < f.Possible[0] || x > f.Possible[1] {
			continue
		}
		if found != "" {
			return ""
		}
		found = id
	}
	return found
}
