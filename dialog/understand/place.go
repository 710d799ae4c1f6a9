package understand

import (
	"slices"

	"proveout/knowledge"
)

// place is a component with the relation said to it: where a value can be.
type place struct {
	first, last int
	comp        *component
	rel         relation
	related     bool // a relation was said
	leading     bool // the relation stands before the component
	quantity    string
	ids         []knowledge.ReadingID
	both        []knowledge.ReadingID
	pair        bool // two terminals
	torn        bool
	chunk       int
	indoor      bool
	sides       bool      // both sides of the part named before
	ends        [2]string // the terminals of a pair
	fixed       bool      // settled by the part it was said to be at
	lends       bool      // says only where another place is
	hanging     bool      // a side said without its part
	unpaired    bool      // between two terminals no reading is taken between
	state       string    // machine state told by a word beside it
}

// readPlaces composes components, relations, terminal pairs and quantity words
// into the places the message speaks of.
func (m *message) readPlaces() {
	for k := 0; k < len(m.chunks); k++ {
		c := &m.chunks[k]
		comp := c.comp()
		if comp != nil && comp.Terminal != "" && m.claimed[c.first] && m.claimed[c.last-1] {
			continue // the letter of a fact: "r-410a"
		}
		if n := len(m.places); n > 0 && m.places[n-1].last > c.first {
			continue
		}
		if comp == nil || m.relationBefore(k) || m.samePart(k) {
			m.dangling(k)
			continue
		}
		p := place{first: c.first, last: c.last, comp: comp, chunk: k}
		next := m.terminalPair(&p, k)
		m.pairBack(&p)
		m.relate(&p, k, next)
		m.choose(&p)
		m.sidesOfPart(&p)
		m.locates(&p)
		m.standing(&p)
		m.places = append(m.places, p)
		k = next
	}
	if m.sides != nil {
		m.places = append(m.places, m.sides...)
		slices.SortStableFunc(m.places, func(a, b place) int { return a.first - b.first })
	}
	m.lendQuantities()
	m.settleIndoors()
}

// relationBefore tells that a chunk which could be a component is said as the
// relation of the next one: "load side of the disconnect".
func (m *message) relationBefore(k int) bool {
	if _, ok := m.chunks[k].rel(); !ok {
		return false
	}
	j := m.nextComponent(k)
	if j >= 0 && j != k {
		_, also := m.chunks[j].rel()
		return !also
	}
	return k > 0 && m.chunks[k-1].comp() != nil && m.chunks[k-1].last == m.chunks[k].first && m.chunks[k-1].comp().Out != nil
}

// nextComponent is the chunk of a component after chunk k with only filler
// between, or -1.
func (m *message) nextComponent(k int) int {
	i := m.chunks[k].last
	for steps := 0; steps < 4 && i < len(m.toks); steps++ {
		c := m.chunkAt(i)
		if c != nil && c.comp() != nil {
			return int(m.chunkOf[i])
		}
		if m.at[i] >= 0 || !m.filler(i) && !(m.isSide(k) && (m.isWord(i, "on") || m.isWord(i, "at") || m.isWord(i, "for"))) {
			return -1
		}
		i++
	}
	return -1
}

// filler tells a word that adds nothing between a relation and its component.
func (m *message) filler(i int) bool { return m.marks(i, wordAdjunct) }

// terminalPair joins "r to c", "between y and c", "l1 l2" into one place and
// gives the last chunk used.
func (m *message) terminalPair(p *place, k int) int {
	if p.comp.Terminal == "" {
		return k
	}
	i := m.chunks[k].last
	for steps := 0; steps < 3 && i < len(m.toks); steps++ {
		if m.at[i] >= 0 {
			return k
		}
		if c := m.chunkAt(i); c != nil && c.comp() != nil && c.comp().Terminal != "" {
			ids := m.r.pairs[[2]string{p.comp.Terminal, c.comp().Terminal}]
			if ids == nil {
				return m.unpaired(p, k, int(m.chunkOf[i]))
			}
			p.ids, p.pair, p.last = ids, true, c.last
			p.ends = [2]string{p.comp.Terminal, c.comp().Terminal}
			return int(m.chunkOf[i])
		}
		if _, end := m.r.small.longest(m.toks, i, m.in); end > i && m.isBetween(i, end) || m.filler(i) {
			i = max(end, i+1)
			continue
		}
		return k
	}
	return k
}

// unpaired makes one place of two terminals a value is said to be between, though no
// reading is: "24 across r and y" is neither R nor Y to common. It gives the last
// chunk used; "24 at r and y" stays two places.
func (m *message) unpaired(p *place, k, last int) int {
	a, b := m.chunks[k].comp(), m.chunks[last].comp()
	between := m.isWord(m.chunks[k].first-1, "between")
	for i := m.chunks[k].last; i < m.chunks[last].first; i++ {
		between = between || m.isWord(i, "to")
	}
	if j := m.relationBack(k); j >= 0 {
		rel, _ := m.chunks[j].rel()
		between = between || rel == relAcross
	}
	if !between || a == b || a.At == nil || b.At == nil {
		return k
	}
	p.ids = nil
	for _, ids := range [][]knowledge.ReadingID{a.At[:1], b.At[:1], a.Indoors, b.Indoors} {
		if len(ids) > 0 && ids[0].Quantity() == "voltage" {
			p.ids = append(p.ids, ids[0])
		}
	}
	p.pair, p.unpaired, p.last = true, true, m.chunks[last].last
	return last
}

// pairBack joins "to common" to the terminal the sentence spoke of before: "24 to
// ground on y, nothing to common".
func (m *message) pairBack(p *place) {
	if p.pair || p.comp.Terminal == "" || !m.isWord(p.first-1, "to") || m.at[p.first-1] >= 0 {
		return
	}
	for i := len(m.places) - 1; i >= 0 && m.sameSentence(m.places[i].last, p.first); i-- {
		for _, t := range []string{m.places[i].comp.Terminal, m.places[i].ends[0]} {
			if ids := m.r.pairs[[2]string{t, p.comp.Terminal}]; t != "" && ids != nil {
				p.ids, p.pair, p.first = ids, true, p.first-1
				p.ends = [2]string{t, p.comp.Terminal}
				return
			}
		}
	}
}

func (m *message) isBetween(i, end int) bool {
	for _, x := range m.smallAt(i, end) {
		if x.word == wordBetween {
			return true
		}
	}
	return false
}

// relate finds the relation said before the component, or right after it.
func (m *message) relate(p *place, k, last int) {
	if j := m.relationBack(k); j >= 0 && !m.inPlace(j) {
		rel, _ := m.chunks[j].rel()
		if (rel == relOut || rel == relIn) && (p.comp.Point || p.comp.Out == nil && p.comp.In == nil) && !p.comp.side(rel) {
			rel = relAt // "from the run pin to the shell": a point has no sides
		}
		p.rel, p.related, p.leading = rel, true, true
		p.first = m.chunks[j].first
		if before := j - 1; rel == relAt && before >= 0 && m.chunks[before].last == p.first {
			if r, ok := m.chunks[before].rel(); ok && r != relAt && p.comp.side(r) && !m.inPlace(before) {
				p.rel, p.first = r, m.chunks[before].first
			}
		}
	}
	if last+1 >= len(m.chunks) {
		return
	}
	if rel, ok := m.chunks[last+1].rel(); ok && rel == relGround && m.chunks[last+1].first == p.last && (p.rel == relIn || p.rel == relOut) && p.related && p.comp.Ground == nil {
		p.unpaired, p.last = true, m.chunks[last+1].last // "bottom of the disconnect to ground" is no leg to leg
	}
	if p.related && p.rel != relAt && p.rel != relAcross {
		return
	}
	after := &m.chunks[last+1]
	rel, ok := after.rel()
	if !ok || rel == relAt || after.first-m.chunks[last].last > 1 || !m.onlyFiller(m.chunks[last].last, after.first) {
		return
	}
	if p.rel == relAcross && p.related && (rel != relIn && rel != relOut || !p.comp.side(rel)) {
		return // "across the disconnect load" is on the load side
	}
	if !p.comp.side(rel) && len(p.comp.At)+len(p.comp.Both)+len(p.comp.Also) == 0 {
		return // "lugs top 243": nothing is read at lugs, so they have no top
	}
	if rel == relGround || m.nextComponent(last+1) < 0 {
		p.rel, p.related, p.last = rel, true, after.last
	}
}

// inPlace tells a chunk that is part of the place before: "to ground" of "yellow to
// ground at the condenser".
func (m *message) inPlace(k int) bool {
	n := len(m.places)
	return n > 0 && m.chunks[k].first < m.places[n-1].last
}

func (m *message) onlyFiller(i, end int) bool {
	for ; i < end; i++ {
		if !m.filler(i) && m.toks[i].text != "is" && m.toks[i].text != "-" {
			return false
		}
	}
	return true
}

// relationBack is the relation chunk before chunk k with only filler between,
// or -1.
func (m *message) relationBack(k int) int {
	i := m.chunks[k].first - 1
	for steps := 0; steps < 3 && i >= 0; steps++ {
		if m.at[i] >= 0 {
			return -1
		}
		if j := m.chunkOf[i]; j >= 0 {
			if rel, ok := m.chunks[j].rel(); ok && m.nextComponent(int(j)) == k {
				// "out on the switch": the side tells more than "on".
				if rel == relAt && j > 0 && !m.inPlace(int(j-1)) && m.chunks[j-1].last == m.chunks[j].first && m.isSide(int(j-1)) && m.nextComponent(int(j-1)) == k && m.chunks[j-1].comp() == nil {
					return int(j - 1)
				}
				return int(j)
			}
		}
		if !m.filler(i) {
			return -1
		}
		i--
	}
	return -1
}

// choose lists the readings a place may mean by its relation.
func (m *message) choose(p *place) {
	c := p.comp
	p.both = c.Both
	if p.pair {
		p.both = nil
		return
	}
	p.torn = c.Torn
	if p.rel == relAt && len(c.Beside) > 0 && c.Bare[1] == 0 && !m.namedBeside(c) {
		return
	}
	switch p.rel {
	case relAcross:
		p.ids = c.Across
	case relOut:
		p.ids = c.Out
	case relIn:
		p.ids = c.In
	case relGround:
		p.ids = c.Ground
	default: // at the part itself, below
	}
	if p.ids != nil && p.rel != relAt {
		p.torn = false
	}
	if p.ids == nil && (p.rel != relOut && p.rel != relIn || c.Out == nil && c.In == nil || c.Point) {
		p.ids = c.At
	}
}

// namedBeside tells whether a component that must stand beside is named.
func (m *message) namedBeside(c *component) bool {
	for i := range m.chunks {
		if x := m.chunks[i].comp(); x != nil && x != c {
			if slices.Contains(c.Beside, x.name) {
				return true
			}
		}
	}
	return false
}
