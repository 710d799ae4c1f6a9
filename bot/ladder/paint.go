package ladder

// canvas is what a picture is painted on.
type canvas interface {
	// paths are lines, joined and ended round; a filled one is closed.
	paths(of [][]spot, i ink)
	circle(at spot, r float64, i ink)
	rect(a area, round float64, i ink)
	// words stand on a line, with an edge or the middle at x.
	words(text string, at spot, to align, f font)
	// part begins what belongs to a part, until done.
	part(id string)
	done()
}

// ink is the colours of a fill and a line, empty for none, with the line's width and the
// length of its dashes.
type ink struct {
	fill, line  string
	width, dash float64
}

// font is the size, weight and colour of words.
type font struct {
	size   float64
	bold   bool
	colour string
}

// painter paints a sheet.
type painter struct {
	canvas

	theme theme
	m     *metrics
}

func (p *painter) sheet(s *sheet) {
	p.grounds(s)
	p.wires(s)
	for i := range s.symbols {
		p.figure(&s.symbols[i])
	}
	for _, at := range s.dots {
		p.circle(at, 3.4, ink{fill: p.theme["ink"]})
	}
	for _, e := range s.earths {
		p.earth(e)
	}
	if s.meter != nil {
		p.meter(s)
	}
	for _, l := range s.labels {
		p.label(l)
	}
}

// grounds tints places and frames what turns together.
func (p *painter) grounds(s *sheet) {
	for _, f := range s.frames {
		if f.place != "" {
			p.rect(f.box, 0, ink{fill: p.theme.tint(f.place)})
		}
	}
	for _, f := range s.frames {
		if f.part != "" {
			p.rect(f.box, 12, ink{line: p.theme["faint"], width: 1, dash: 4})
		}
	}
}

// wires are drawn in ink, those of a known colour with it inside.
func (p *painter) wires(s *sheet) {
	var all [][]spot
	inside := map[string][][]spot{}
	for _, w := range s.wires {
		line := []spot{w.a, w.b}
		all = append(all, line)
		if c := insulation(w.colour); c != "" {
			inside[c] = append(inside[c], line)
		}
	}
	p.paths(all, ink{line: p.theme["ink"], width: 3.6})
	for _, c := range keys(inside) {
		p.paths(inside[c], ink{line: c, width: 2})
	}
}

// figure draws a symbol in the colour of what is known of its part.
func (p *painter) figure(f *figure) {
	i := ink{line: p.theme["ink"], width: 1.7}
	switch {
	case f.suspect:
		i = ink{line: p.theme["suspect"], width: 2.2}
	case f.open:
		i = ink{line: p.theme["open"], width: 2.2}
	case f.good:
		i = ink{line: p.theme["good"], width: 2.2}
	case f.absent:
		i.line = p.theme["faint"]
	}
	p.part(f.part.id)
	if f.suspect {
		p.rect(f.box.grown(1), 6, ink{line: i.line, width: 1.2, dash: 3})
	}
	var lines [][]spot
	for _, s := range f.strokes() {
		if s.radius > 0 {
			p.circle(s.path[0], s.radius, i)
			continue
		}
		lines = append(lines, s.path)
	}
	if len(lines) > 0 {
		p.paths(lines, i)
	}
	p.done()
}

// earth draws the sign of earth, or an open end.
func (p *painter) earth(e earth) {
	if e.link {
		p.circle(e.at, 4, ink{fill: p.theme["paper"], line: p.theme["ink"], width: 1.7})
		return
	}
	d := 1.0
	if e.upward {
		d = -1
	}
	bar := func(half, down float64) []spot {
		return []spot{{e.at.x - half, e.at.y + down*d}, {e.at.x + half, e.at.y + down*d}}
	}
	p.paths([][]spot{{e.at, {e.at.x, e.at.y + 6*d}}, bar(9, 6), bar(6, 10), bar(2.5, 14)}, ink{line: p.theme["ink"], width: 1.7})
}

// meter draws the meter, its leads or jaws, and what they touch.
func (p *painter) meter(s *sheet) {
	b, t, clamped := s.meter.box, p.theme, len(s.meter.jaws) > 0
	colour := func(red bool) string {
		if red {
			return t["red"]
		}
		return t["black"]
	}
	for _, l := range s.leads {
		p.paths([][]spot{l.path}, ink{line: colour(l.red), width: 3})
	}
	p.rect(b, 9, ink{fill: t["paper"], line: t["ink"], width: 2})
	for i, at := range s.meter.sockets {
		p.circle(at, 4, ink{fill: colour(i == 0 && !clamped)})
	}
	for _, j := range s.meter.jaws {
		p.rect(j, 5, ink{line: t["red"], width: 3})
	}
	if clamped {
		return
	}
	for _, l := range s.leads {
		p.circle(l.path[len(l.path)-1], 5, ink{fill: colour(l.red), line: t["paper"], width: 1.5})
	}
}

func (p *painter) label(l label) {
	at, to := spot{l.box.x0, l.box.y1 - 0.28*p.m.size(l.class)}, l.align
	switch {
	case l.class.sign():
		p.sign(l)
		at.x, to = at.x+p.m.signed(l.class), left
	case to == centred:
		at.x = l.box.middle().x
	case to == right:
		at.x = l.box.x1
	}
	p.words(l.text, at, to, font{p.m.size(l.class), l.class.bold(), p.theme.of(l.class)})
}

// sign draws the shape before a label's words, so that colour is never all that tells.
func (p *painter) sign(l label) {
	r := l.box.height()/2 - 2
	x, y := l.box.x0+r+1, l.box.middle().y
	c := p.theme.of(l.class)
	switch l.class {
	case classGood:
		p.circle(spot{x, y}, r, ink{fill: c})
		p.paths([][]spot{{{x - 3, y}, {x - 0.8, y + 2.4}, {x + 3, y - 2.4}}}, ink{line: p.theme["paper"], width: 1.6})
	case classSuspect:
		p.paths([][]spot{{{x, y - r}, {x + r, y + r - 1}, {x - r, y + r - 1}}}, ink{fill: c})
	case classOpen:
		p.circle(spot{x, y}, r-1, ink{line: c, width: 1.8, dash: 4})
	case classValue:
		p.paths([][]spot{{{x, y - r}, {x + r, y}, {x, y + r}, {x - r, y}}}, ink{fill: c})
	case classRed:
		p.circle(spot{x, y}, r-1, ink{fill: c})
	case classBlack:
		p.rect(area{x - r, y - r, x + r, y + r}.grown(-1.5), 0, ink{fill: c})
	case classRotor:
		p.circle(spot{x, y}, r, ink{line: c, width: 1.4})
		p.words("M", spot{x, y + 3}, centred, font{size: 8, colour: c})
	default:
	}
}
