package ladder

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// class is what a label is for; it decides its looks.
type class string

const (
	classHeading class = "heading"
	classTitle   class = "title"
	className    class = "name"
	classRotor   class = "rotor"
	classTag     class = "tag"
	classValue   class = "value"
	classGood    class = "good"
	classSuspect class = "suspect"
	classOpen    class = "open"
	classAbsent  class = "absent"
	classMeter   class = "meter"
	classPlace   class = "place"
	classRed     class = "red"
	classBlack   class = "black"
	classKey     class = "key"
	classRoom    class = "room" // kept free for a sign
)

// sign is the shape before a label's words.
func (c class) sign() bool {
	switch c {
	case classGood, classSuspect, classOpen, classRotor, classValue, classRed, classBlack:
		return true
	default:
		return false
	}
}

func (c class) bold() bool {
	switch c {
	case classHeading, classTitle, classValue, classGood, classSuspect, classOpen, classRed, classBlack, classMeter:
		return true
	default:
		return false
	}
}

// note is a label that has a cell and no place in it yet.
type note struct {
	class class
	text  string
	part  string // the rotor it stands for
	w, h  float64
}

func (p *plot) note(c class, text string) note {
	n := note{class: c, text: text, w: p.m.width(text, c), h: p.m.line(c)}
	if c.sign() {
		n.w += p.m.signed(c)
	}
	return n
}

// signed is the room a sign takes before the words.
func (m *metrics) signed(c class) float64 {
	if m.broad < 1 {
		return 2 // the sign and a space
	}
	return m.line(c) + 2
}

func (p *plot) room(w, h float64) note { return note{class: classRoom, w: w, h: h} }

// lower are the notes under a row within a gap: at its left, at its right, and between.
type lower struct{ left, right, under []note }

func (p *plot) lowAt(at point) *lower {
	if p.low[at] == nil {
		p.low[at] = &lower{}
	}
	return p.low[at]
}

// annotate puts words to the plot's cells.
func (p *plot) annotate() {
	titled, placed := map[string]bool{}, map[*cell]string{}
	for _, z := range p.zones() {
		placed[slices.MinFunc(z.cells, func(a, b *cell) int { return cmp.Or(cmp.Compare(a.at.r, b.at.r), cmp.Compare(a.at.c, b.at.c)) })] = z.place
	}
	for i := range p.b.cells {
		c := &p.b.cells[i]
		notes := p.named(c, titled)
		if place := placed[c]; place != "" {
			var above []note
			for _, line := range p.m.wrapped(p.d.words.or("place", place)) {
				above = append(above, p.note(classPlace, line))
			}
			notes = append(above, notes...)
		}
		values := p.valued(c)
		if c.down {
			p.beside(c, append(notes, values...))
			continue
		}
		if p.joins(c) {
			continue // written beside the transformer
		}
		p.up[c.at] = notes
		p.lowAt(c.at).under = append(p.lowAt(c.at).under, values...)
	}
	tagged := map[string]bool{}
	// A lying cell's near end is the best place for a node's words, a joined winding's
	// the last: its ends are the rails, which other cells are at too.
	for pass := range 3 {
		for i := range p.b.cells {
			c := &p.b.cells[i]
			for end := range 2 {
				node := c.node(end)
				switch {
				case strings.Contains(node, leafMark):
					if pass == 0 {
						p.leaf(c, end)
					}
				case tagged[node], pass < 2 && p.joins(c), pass == 0 && (c.down || end == 1):
				default:
					tagged[node] = true
					p.tag(c, end, node)
				}
			}
		}
	}
}

// named are a cell's name and marks.
func (p *plot) named(c *cell, titled map[string]bool) []note {
	part := c.e.part
	var out []note
	if r := part.rotor; r != "" && !titled[r] && p.d.rotors[r] != nil && !p.d.seen[r] {
		titled[r], p.d.seen[r] = true, true
		n := p.note(classRotor, p.d.rotors[r].name)
		n.part = r
		out = append(out, n)
	}
	name := part.name
	switch c.e.winding {
	case primary:
		name += ", " + p.d.words.say("drawing-primary")
	case secondary:
		name += ", " + p.d.words.say("drawing-secondary")
	case whole:
	}
	for _, line := range p.m.wrapped(name) {
		out = append(out, p.note(className, line))
	}
	return append(out, p.marks(part)...)
}

func (p *plot) marks(part *part) []note {
	var out []note
	mark := &p.d.marking
	say := func(id string) string {
		if p.m.terse {
			return ""
		}
		return p.d.words.say(id)
	}
	if mark.Absent[part.id] {
		out = append(out, p.note(classAbsent, p.d.words.say("drawing-absent")))
	}
	if mark.Good[part.id] {
		out = append(out, p.note(classGood, say("drawing-good")))
	}
	if s, ok := mark.Suspects[part.id]; ok {
		out = append(out, p.note(classSuspect, percent(s)))
	}
	if mark.Open[part.id] && part.symbol.opens() {
		out = append(out, p.note(classOpen, say("drawing-open")))
	}
	return out
}

func percent(p float64) string {
	if p < 0.005 {
		return "< 1 %"
	}
	return fmt.Sprintf("%.0f %%", math.Round(100*p))
}

func (p *plot) valued(c *cell) []note {
	var out []note
	for _, v := range p.d.marking.Values {
		if v.Component == c.e.part.id && c.e.winding != secondary {
			out = append(out, p.note(classValue, v.Text))
		}
	}
	return out
}

// beside puts notes to the side of a standing cell.
func (p *plot) beside(c *cell, notes []note) {
	at := c.at
	side := 0
	if c.left && at.c > 0 || at.c == p.b.w {
		at.c, side = at.c-1, 1
	}
	s := p.side[at]
	s[side] = append(s[side], notes...)
	p.side[at] = s
}

// tag writes a node's terminal, colour and measured values at a cell's end.
func (p *plot) tag(c *cell, end int, name string) {
	node := p.d.net.nodes[name]
	var notes []note
	text := strings.TrimSpace(node.Terminal + " " + p.d.words.or("colour", node.Colour))
	if text == "" && (name == p.s.left || name == p.s.right) {
		text = node.Name
	}
	if text != "" {
		for _, line := range p.m.wrapped(text) {
			notes = append(notes, p.note(classTag, line))
		}
	}
	for _, v := range p.d.marking.Values {
		if v.Component == "" && v.Node == name {
			notes = append(notes, p.note(classValue, v.Text))
		}
	}
	notes = append(notes, p.touch(name)...)
	at := c.end(end)
	p.d.anchors[name] = anchor{p, at}
	right := end == 1
	if c.down {
		right = c.left
	}
	p.corner(at, right, notes)
}

// touch says which of the meter's leads goes to a node.
func (p *plot) touch(name string) []note {
	meter := p.d.marking.Meter
	switch {
	case meter == nil || name == "":
		return nil
	case name == meter.Red:
		return []note{p.note(classRed, p.d.words.say("drawing-red"))}
	case name == meter.Black:
		return []note{p.note(classBlack, p.d.words.say("drawing-black"))}
	}
	return nil
}

// corner puts notes under a row, right of a crossing or left of it.
func (p *plot) corner(at point, left bool, notes []note) {
	if left && at.c == 0 {
		left = false
	}
	if !left && at.c == p.b.w {
		left = true
	}
	if left {
		l := p.lowAt(point{at.c - 1, at.r})
		l.right = append(l.right, notes...)
		return
	}
	l := p.lowAt(at)
	l.left = append(l.left, notes...)
}

// leaf keeps room for the sign of earth at a cell's end: below it, or above where the
// element hangs from it.
func (p *plot) leaf(c *cell, end int) {
	at := c.end(end)
	upward := c.down && end == 0
	p.leaves[at] = leaf{c.node(end), upward}
	if upward {
		p.raised[at.r] = true
		return
	}
	w, h := p.m.wide, p.m.ground-p.m.broad+0.5 // a row's words begin below its symbols
	below := []note{p.room(w, h)}
	met, _, _ := strings.Cut(c.node(end), leafMark)
	if met != p.d.net.earth {
		node := p.d.net.nodes[met]
		below = append(below, p.note(classTag, cmp.Or(node.Terminal, node.Name, met)))
	}
	if _, touched := p.d.anchors[met]; !touched && p.leadsTo(met) {
		p.d.anchors[met] = anchor{p, at}
		below = append(below, p.touch(met)...)
	}
	if at.c > 0 {
		l := p.lowAt(point{at.c - 1, at.r})
		l.right = append(l.right, below...)
		below = below[:1] // its words stand on one side
	}
	if at.c < p.b.w {
		l := p.lowAt(at)
		l.left = append(l.left, below...)
	}
}

// leadsTo says whether a lead goes to a node met as a sign of earth, and the other one
// into the same section: of several signs that is the one to touch.
func (p *plot) leadsTo(node string) bool {
	meter := p.d.marking.Meter
	if meter == nil || node != meter.Red && node != meter.Black {
		return false
	}
	other := meter.Red
	if node == meter.Red {
		other = meter.Black
	}
	return slices.Contains(nodesOf(p.s.elements), other)
}

// widest and highest are a stack's size.
func widest(notes []note) float64 {
	if len(notes) == 0 {
		return 0
	}
	return slices.MaxFunc(notes, func(a, b note) int { return cmp.Compare(a.w, b.w) }).w
}

func highest(notes []note) float64 {
	h := 0.0
	for _, n := range notes {
		h += n.h
	}
	return h
}
