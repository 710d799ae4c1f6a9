package ladder

import (
	"cmp"
	"maps"
	"slices"
	"strings"
)

// spot is a place on a sheet, in its medium's unit, y downwards.
type spot struct{ x, y float64 }

// area is an upright rectangle.
type area struct{ x0, y0, x1, y1 float64 }

func (a area) width() float64  { return a.x1 - a.x0 }
func (a area) height() float64 { return a.y1 - a.y0 }
func (a area) middle() spot    { return spot{(a.x0 + a.x1) / 2, (a.y0 + a.y1) / 2} }

func (a area) grown(by float64) area { return area{a.x0 - by, a.y0 - by, a.x1 + by, a.y1 + by} }

// overlaps says whether two areas share more than an edge.
func (a area) overlaps(b area) bool {
	const touch = 1e-6
	return a.x0 < b.x1-touch && b.x0 < a.x1-touch && a.y0 < b.y1-touch && b.y0 < a.y1-touch
}

// sheet is a drawing as a list of what is on it.
type sheet struct {
	w, h    float64
	frames  []frame
	wires   []strand
	dots    []spot
	earths  []earth
	symbols []figure
	labels  []label
	leads   []lead
	meter   *dial
}

// strand is a straight piece of wire.
type strand struct {
	node, colour string
	a, b         spot
}

func (s strand) area() area {
	return area{min(s.a.x, s.b.x), min(s.a.y, s.b.y), max(s.a.x, s.b.x), max(s.a.y, s.b.y)}
}

// figure is a symbol in its place; ends are where its wires meet it, the near first.
type figure struct {
	part    *part
	winding winding
	symbol  symbol
	box     area
	stands  bool
	flip    bool
	ends    []spot
	open    bool
	absent  bool
	good    bool
	suspect bool
}

// earth is a sign of earth, or the end of a wire to a node drawn elsewhere.
type earth struct {
	at     spot
	node   string
	upward bool
	link   bool // no earth: the wire goes on where the node is
	box    area
}

// label is words in their place.
type label struct {
	class class
	text  string
	box   area
	align align
	part  string
}

// align says which edge of its box a label keeps to when a face is narrower than it was
// taken to be.
type align int

const (
	left align = iota
	centred
	right
)

// frame is drawn behind what belongs together: a rotor's windings, or the parts of one
// place.
type frame struct {
	part, place string
	box         area
}

// lead is a meter's lead from its socket to the point it touches.
type lead struct {
	red  bool
	path []spot
}

// dial is the meter, with its jaws where it has any.
type dial struct {
	box     area
	sockets []spot
	jaws    []area
}

// sheet places everything.
func (d *draft) sheet() *sheet {
	m := d.m
	s := &sheet{}
	width := 0.0
	for _, p := range d.plots {
		width = max(width, p.width())
	}
	for _, p := range d.plots {
		p.stretch(width)
		p.shift(m.margin + m.wide)
	}
	y := m.margin
	y = d.line(s, classHeading, d.net.title, m.margin, y)
	for i, p := range d.plots {
		if p.above == nil {
			if i > 0 {
				y += 2 * m.row
			}
			y = d.line(s, classTitle, p.s.title, m.margin, y)
			y = p.settle(y + m.row)
			continue
		}
		top := y + m.row
		y = p.settle(top + max(m.between, highest(p.joining())+m.line(classTitle)+m.row))
		p.join(s, d.plots[i-1], top)
	}
	for _, p := range d.plots {
		p.draw(s)
	}
	y = d.key(s, d.unwired(s, y+m.row)+m.row)
	s.w, s.h = width+2*(m.margin+m.wide), y+m.margin
	for _, l := range s.labels {
		s.w = max(s.w, l.box.x1+m.margin)
	}
	s.tidy()
	if d.marking.Meter != nil && m.routes {
		d.connect(s)
	}
	return s
}

// line puts a line of words on the sheet and says where it ends.
func (d *draft) line(s *sheet, c class, text string, x, y float64) float64 {
	if text == "" {
		return y
	}
	h := d.m.line(c)
	s.labels = append(s.labels, label{class: c, text: text, box: area{x, y, x + d.m.width(text, c), y + h}})
	return y + h
}

// joining is what is written at the transformer between two sections.
func (p *plot) joining() []note {
	t := p.above
	var out []note
	for _, line := range p.m.wrapped(t.name) {
		out = append(out, p.note(className, line))
	}
	out = append(out, p.marks(t)...)
	for _, v := range p.d.marking.Values {
		if v.Component == t.id {
			out = append(out, p.note(classValue, v.Text))
		}
	}
	return out
}

// join draws the transformer between a section and this one, which its secondary feeds,
// and the section's title beside it. Both windings' rows hold nothing else.
func (p *plot) join(s *sheet, from *plot, top float64) {
	m := p.m
	upper, lower := from.winding(primary), p.winding(secondary)
	a, b := from.at(upper.end(0)), from.at(upper.end(1))
	x0 := p.m.edge((a.x + b.x - m.long) / 2)
	f := p.figureOf(upper)
	f.winding = whole
	f.box = area{x0, a.y, x0 + m.long, p.y[0]}
	f.ends = []spot{{x0, a.y}, {f.box.x1, a.y}, {x0, p.y[0]}, {f.box.x1, p.y[0]}}
	from.strand(s, upper.node(0), a, f.ends[0])
	from.strand(s, upper.node(1), f.ends[1], b)
	p.strand(s, lower.node(0), spot{p.x[0], p.y[0]}, f.ends[2])
	p.strand(s, lower.node(1), f.ends[3], spot{p.x[p.b.w], p.y[0]})
	s.symbols = append(s.symbols, f)
	notes, x, y := p.joining(), f.box.x1+2*m.pad, top
	if title := m.margin + m.width(p.s.title, classTitle); title > x0-m.pad {
		y = p.d.line(s, classTitle, p.s.title, x, y)
	} else {
		p.d.line(s, classTitle, p.s.title, m.margin, top)
	}
	p.stack(s, notes, y, left, x)
}

// winding finds the cell of a winding that joins two sections.
func (p *plot) winding(w winding) *cell {
	for i := range p.b.cells {
		if c := &p.b.cells[i]; c.e.winding == w && p.joins(c) {
			return c
		}
	}
	return nil
}

// draw puts a section's wires, symbols and words on the sheet.
func (p *plot) draw(s *sheet) {
	for _, r := range p.b.runs {
		if p.above != nil && r.a.r == 0 && r.b.r == 0 {
			continue // the secondary's, drawn with it
		}
		p.strand(s, r.node, p.at(r.a), p.at(r.b))
	}
	for i := range p.b.cells {
		if c := &p.b.cells[i]; !p.joins(c) {
			p.figure(s, c)
		}
	}
	for _, at := range points(p.leaves) {
		p.grounded(s, at, p.leaves[at])
	}
	p.written(s)
	for _, z := range p.zones() {
		for _, a := range p.grounds(z) {
			s.frames = append(s.frames, frame{place: z.place, box: a})
		}
	}
	p.framed(s)
}

func (p *plot) at(c point) spot { return spot{p.x[c.c], p.y[c.r]} }

func (p *plot) strand(s *sheet, node string, a, b spot) {
	if a != b {
		met, _, _ := strings.Cut(node, leafMark)
		s.wires = append(s.wires, strand{node, p.d.net.nodes[met].Colour, a, b})
	}
}

// figureOf is a cell's symbol, not yet in its place.
func (p *plot) figureOf(c *cell) figure {
	part, mark := c.e.part, &p.d.marking
	f := figure{part: part, winding: c.e.winding, symbol: part.symbol, stands: c.down, flip: c.flip}
	f.good, f.absent = mark.Good[part.id], mark.Absent[part.id]
	f.open = mark.Open[part.id] && part.symbol.opens()
	_, f.suspect = mark.Suspects[part.id]
	return f
}

// figure puts a cell's symbol in the middle of its line and wires it to both ends.
func (p *plot) figure(s *sheet, c *cell) {
	m := p.m
	a, b := p.at(c.end(0)), p.at(c.end(1))
	f := p.figureOf(c)
	if c.down {
		y := m.middle((a.y + p.lows[c.at.r] + b.y - p.ups[c.at.r+1]) / 2)
		f.box = area{a.x - m.wide, y - m.tall/2, a.x + m.wide, y + m.tall/2}
		f.ends = []spot{{a.x, f.box.y0}, {a.x, f.box.y1}}
	} else {
		x := p.m.edge((a.x + b.x - m.long) / 2)
		f.box = area{x, a.y - m.broad, x + m.long, a.y + m.broad}
		f.ends = []spot{{x, a.y}, {x + m.long, a.y}}
	}
	p.strand(s, c.node(0), a, f.ends[0])
	p.strand(s, c.node(1), f.ends[1], b)
	s.symbols = append(s.symbols, f)
}

// grounded ends a wire at earth.
func (p *plot) grounded(s *sheet, c point, l leaf) {
	at := p.at(c)
	met, _, _ := strings.Cut(l.node, leafMark)
	e := earth{at: at, node: met, upward: l.upward, link: met != p.d.net.earth, box: area{at.x - p.m.wide, at.y + 0.5, at.x + p.m.wide, at.y + 0.5 + p.m.ground}}
	if l.upward {
		e.box.y0, e.box.y1 = at.y-0.5-p.m.ground, at.y-0.5
	}
	s.earths = append(s.earths, e)
}

// written places the notes of every cell.
func (p *plot) written(s *sheet) {
	m := p.m
	for _, at := range points(p.up) {
		notes := p.up[at]
		y := p.y[at.r] - m.broad - highest(notes)
		p.stack(s, notes, y, centred, (p.x[at.c]+p.x[at.c+1])/2)
	}
	for _, at := range points(p.low) {
		l := p.low[at]
		y := p.y[at.r] + m.broad
		p.stack(s, l.left, y, left, p.x[at.c]+m.pad)
		p.stack(s, l.right, y, right, p.x[at.c+1]-m.pad)
		p.stack(s, l.under, y+max(highest(l.left), highest(l.right)), centred, (p.x[at.c]+p.x[at.c+1])/2)
	}
	for _, at := range points(p.side) {
		notes := p.side[at]
		top, bottom := p.y[at.r]+p.lows[at.r], p.y[at.r+1]-p.ups[at.r+1]
		middle := func(n []note) float64 { return m.edge((top + bottom - highest(n)) / 2) }
		p.stack(s, notes[0], middle(notes[0]), left, p.x[at.c]+m.wide+m.pad)
		p.stack(s, notes[1], middle(notes[1]), right, p.x[at.c+1]-m.wide-m.pad)
	}
}

// stack places notes below one another, with an edge or the middle at x.
func (p *plot) stack(s *sheet, notes []note, y float64, to align, x float64) {
	for _, n := range notes {
		if n.class != classRoom {
			edge := p.m.edge(x - n.w*float64(to)/2)
			s.labels = append(s.labels, label{n.class, n.text, area{edge, y, edge + n.w, y + n.h}, to, n.part})
		}
		y += n.h
	}
}

// framed draws a rotor's frame around its windings where they lie together.
func (p *plot) framed(s *sheet) {
	rows := map[string][]point{}
	for i := range p.b.cells {
		if c := &p.b.cells[i]; c.e.part.rotor != "" && !c.down {
			rows[c.e.part.rotor] = append(rows[c.e.part.rotor], c.at)
		}
	}
	for _, rotor := range slices.Sorted(maps.Keys(rows)) {
		at := rows[rotor]
		slices.SortFunc(at, func(a, b point) int { return cmp.Compare(a.r, b.r) })
		together := true
		for i := 1; i < len(at); i++ {
			together = together && at[i].c == at[0].c && at[i].r == at[i-1].r+1
		}
		if together {
			first, last := at[0], at[len(at)-1]
			s.frames = append(s.frames, frame{part: rotor, box: area{p.x[first.c] + 3, p.y[first.r] - p.ups[first.r] - 2, p.x[first.c+1] - 3, p.y[last.r] + p.lows[last.r] + 1}})
		}
	}
}

// unwired names the rotors no winding on the sheet turns.
func (d *draft) unwired(s *sheet, y float64) float64 {
	p := &plot{d: d, m: d.m}
	for _, part := range d.net.parts {
		if part.symbol == motor && !d.seen[part.id] {
			d.seen[part.id] = true
			n := p.note(classRotor, part.name)
			s.labels = append(s.labels, label{classRotor, part.name, area{d.m.margin, y, d.m.margin + n.w, y + n.h}, left, part.id})
			y += n.h
		}
	}
	return y
}

// tidy makes one strand of what lies on one line of one node, and puts a dot where
// three ways meet.
func (s *sheet) tidy() {
	type line struct {
		node    string
		upright bool
		at      float64
	}
	spans := map[line][]area{}
	colours := map[string]string{}
	var order []line
	for _, w := range s.wires {
		l := line{w.node, w.a.x == w.b.x, w.a.y}
		if l.upright {
			l.at = w.a.x
		}
		if spans[l] == nil {
			order = append(order, l)
		}
		spans[l] = append(spans[l], w.area())
		colours[w.node] = w.colour
	}
	s.wires = nil
	for _, l := range order {
		for _, a := range merged(spans[l], l.upright) {
			s.wires = append(s.wires, strand{l.node, colours[l.node], spot{a.x0, a.y0}, spot{a.x1, a.y1}})
		}
	}
	s.dotted()
}

func merged(spans []area, upright bool) []area {
	from := func(a area) float64 { return a.x0 }
	if upright {
		from = func(a area) float64 { return a.y0 }
	}
	slices.SortFunc(spans, func(a, b area) int { return cmp.Compare(from(a), from(b)) })
	out := []area{spans[0]}
	for _, a := range spans[1:] {
		last := &out[len(out)-1]
		if upright && a.y0 <= last.y1 || !upright && a.x0 <= last.x1 {
			last.x1, last.y1 = max(last.x1, a.x1), max(last.y1, a.y1)
			continue
		}
		out = append(out, a)
	}
	return out
}

// dotted finds where wires of one node meet in three ways or more.
func (s *sheet) dotted() {
	seen := map[spot]bool{}
	for _, h := range s.wires {
		if h.a.y != h.b.y {
			continue
		}
		for _, v := range s.wires {
			at := spot{v.a.x, h.a.y}
			if v.a.x != v.b.x || v.node != h.node || seen[at] || at.x < h.a.x || at.x > h.b.x || at.y < v.a.y || at.y > v.b.y {
				continue
			}
			ways := 4
			for _, end := range []bool{at.x == h.a.x, at.x == h.b.x, at.y == v.a.y, at.y == v.b.y} {
				if end {
					ways--
				}
			}
			if ways > 2 {
				seen[at] = true
				s.dots = append(s.dots, at)
			}
		}
	}
}
