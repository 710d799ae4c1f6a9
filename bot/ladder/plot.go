package ladder

import (
	"maps"
	"slices"
	"strings"
)

// plot is one section being sized: its grid, the words in its cells, and in the end
// where its lines lie.
type plot struct {
	d     *draft
	m     *metrics
	s     *section
	b     *block
	below *part // the transformer whose primary is the last row, its secondary the next section's first
	above *part // the one whose secondary is the first row

	up     map[point][]note
	low    map[point]*lower
	side   map[point][2][]note
	leaves map[point]leaf
	raised map[int]bool // rows with a sign of earth over them

	x, y            []float64
	ups, lows, mids []float64
}

// leaf is the end of a wire at a node drawn as a sign.
type leaf struct {
	node   string
	upward bool
}

// draft is a drawing being sized.
type draft struct {
	*Drawing

	m       *metrics
	plots   []*plot
	rotors  map[string]*part
	seen    map[string]bool // rotors drawn
	anchors map[string]anchor
}

// anchor is the crossing a node's words stand at.
type anchor struct {
	p  *plot
	at point
}

func newDraft(of *Drawing, m *metrics, limit int) *draft {
	n := of.net
	d := &draft{Drawing: of, m: m, rotors: map[string]*part{}, seen: map[string]bool{}, anchors: map[string]anchor{}}
	for _, p := range n.parts {
		if p.symbol == motor {
			d.rotors[p.id] = p
		}
	}
	sections := n.sections()
	last := map[*part]bool{}
	for i := 1; i < len(sections); i++ {
		// The first transformer that feeds a ladder from the one above stands between.
		for _, e := range sections[i].elements {
			if e.winding == secondary && sections[i-1].winding(e.part, primary) != nil && sections[i].from == nil {
				sections[i].from = e.part
				last[e.part] = true
			}
		}
	}
	for _, s := range sections {
		l := &layer{limit: limit, last: last, known: map[asked]*block{}}
		d.plots = append(d.plots, &plot{d: d, m: m, s: s, b: l.laid(s), up: map[point][]note{}, low: map[point]*lower{}, side: map[point][2][]note{}, leaves: map[point]leaf{}, raised: map[int]bool{}})
	}
	for i := 1; i < len(d.plots); i++ {
		if t := d.plots[i].s.from; t != nil && d.plots[i-1].alone(t, primary, d.plots[i-1].b.h-1) && d.plots[i].alone(t, secondary, 0) {
			d.plots[i-1].below, d.plots[i].above = t, t
		}
	}
	for _, p := range d.plots {
		p.annotate()
		p.size()
	}
	return d
}

// alone says whether a winding is all there is in a row.
func (p *plot) alone(t *part, w winding, row int) bool {
	found := false
	for i := range p.b.cells {
		c := &p.b.cells[i]
		switch {
		case c.end(0).r != row && c.end(1).r != row:
		case c.e.part == t && c.e.winding == w && !c.down && !strings.Contains(c.e.nodes[0]+c.e.nodes[1], leafMark):
			found = true
		default:
			return false
		}
	}
	return found
}

// joins says whether a cell is a winding of a transformer that stands between this
// section and the next.
func (p *plot) joins(c *cell) bool {
	return p.below != nil && c.e.part == p.below && c.e.winding == primary || p.above != nil && c.e.part == p.above && c.e.winding == secondary
}

// size works out the distances of the grid's lines: columns in x, and for the rows what
// lies over, under and between them.
func (p *plot) size() {
	m := p.m
	widths := make([]float64, p.b.w)
	for g := range widths {
		widths[g] = m.gap
	}
	p.ups, p.lows, p.mids = make([]float64, p.b.h), make([]float64, p.b.h), make([]float64, p.b.h)
	for r := range p.ups {
		p.ups[r], p.lows[r] = 0.5, 0.5 // a line has a width
		if p.raised[r] {
			p.ups[r] += m.ground
		}
	}
	wider := func(g int, w float64) {
		if g >= 0 && g < len(widths) {
			widths[g] = max(widths[g], w)
		}
	}
	for i := range p.b.cells {
		c := &p.b.cells[i]
		if c.down {
			p.mids[c.at.r] = max(p.mids[c.at.r], m.tall+2*m.stub)
			for _, g := range []int{c.at.c - 1, c.at.c} {
				wider(g, m.wide+m.gap)
			}
			continue
		}
		wider(c.at.c, m.long+2*m.stub+2*m.pad)
		p.ups[c.at.r] = max(p.ups[c.at.r], m.broad)
		p.lows[c.at.r] = max(p.lows[c.at.r], m.broad)
	}
	for at, notes := range p.up {
		wider(at.c, widest(notes)+2*m.pad)
		p.ups[at.r] = max(p.ups[at.r], m.broad+highest(notes))
	}
	for at, l := range p.low {
		both := m.abreast(l.left, l.right)
		if p.below != nil && at.r == p.b.h-1 {
			both = 2*max(widest(l.left), widest(l.right)) + m.long + 2*m.pad // the transformer hangs between them
		}
		wider(at.c, both+2*m.pad)
		wider(at.c, widest(l.under)+2*m.pad)
		p.lows[at.r] = max(p.lows[at.r], m.broad+max(highest(l.left), highest(l.right))+highest(l.under))
	}
	for at, s := range p.side {
		wider(at.c, m.abreast(s[0], s[1])+2*(m.wide+m.pad))
		p.mids[at.r] = max(p.mids[at.r], highest(s[0]), highest(s[1]))
	}
	p.x = make([]float64, p.b.w+1)
	for g, w := range widths {
		p.x[g+1] = p.x[g] + ceil(w)
	}
}

// abreast is how wide two stacks side by side are.
func (m *metrics) abreast(a, b []note) float64 {
	w := widest(a) + widest(b)
	if len(a) > 0 && len(b) > 0 {
		w += 2 * m.pad
	}
	return w
}

func ceil(w float64) float64 { return float64(int(w + 0.999)) }

func (p *plot) width() float64 { return p.x[p.b.w] }

// stretch widens the plot's gaps alike to a width.
func (p *plot) stretch(width float64) {
	spare := width - p.width()
	for i := range p.x {
		p.x[i] += float64(int(spare * float64(i) / float64(p.b.w)))
	}
}

// shift moves the columns right.
func (p *plot) shift(by float64) {
	for i := range p.x {
		p.x[i] += by
	}
}

// settle places the rows from a height on and says where the last one's words end.
func (p *plot) settle(top float64) float64 {
	p.y = make([]float64, p.b.h)
	for r := range p.y {
		p.y[r] = top + p.ups[r]
		top = p.y[r] + p.lows[r] + p.mids[r] + p.m.row
	}
	return top
}

// points lists crossings in order.
func points[V any](of map[point]V) []point {
	return slices.SortedFunc(maps.Keys(of), func(a, b point) int {
		if a.r != b.r {
			return a.r - b.r
		}
		return a.c - b.c
	})
}
