package ladder

import (
	"cmp"
	"slices"
	"strings"
)

// layer lays trees out on a grid.
type layer struct {
	limit int // gaps a rung may take before what leads to it goes into the rails
	last  map[*part]bool
	known map[asked]*block
}

// asked is a layout once made.
type asked struct {
	t    *tree
	want int
	last bool
}

// lay gives a tree a block at least want gaps wide. In a block that is the last of
// those above one another elements may stand on the outer columns.
func (l *layer) lay(t *tree, want int, last bool) *block {
	key := asked{t, want, last}
	if b, ok := l.known[key]; ok {
		return b
	}
	var b *block
	switch t.shape {
	case one:
		b = l.one(t, want)
	case series:
		b = l.series(t, want)
	case parallel:
		b = l.parallel(t, want, last)
	case rigid:
		b = bridge(t, want)
	}
	l.known[key] = b
	return b
}

// one is an element: a load lies at the right, where the trade looks for it.
func (l *layer) one(t *tree, want int) *block {
	b := &block{w: max(1, want), h: 1}
	at := 0
	if load(t) {
		at = b.w - 1
	}
	b.cells = []cell{{e: t.element, at: point{at, 0}, flip: t.element.nodes[0] != t.a}}
	b.across(t.a, 0, 0, at)
	b.across(t.b, 0, at+1, b.w)
	return b
}

// load says whether a tree holds what a rung is there for.
func load(t *tree) bool {
	return slices.ContainsFunc(t.all(), func(e *element) bool { return e.part.symbol == coil })
}

// inside is a tree's block as it lies between others: one with elements on its outer
// columns gets a column more at each side.
func (l *layer) inside(t *tree, want int) *block {
	b := l.lay(t, 0, false)
	if !b.rails {
		return l.lay(t, want, false)
	}
	b = l.lay(t, want-2, false)
	in := &block{w: b.w + 2}
	in.put(b, point{1, 0})
	in.across(t.a, 0, 0, 1)
	in.across(t.b, 0, b.w+1, b.w+2)
	return in
}

// parallel stacks the branches between two columns.
func (l *layer) parallel(t *tree, want int, last bool) *block {
	kids := slices.Clone(t.kids)
	slices.SortStableFunc(kids, func(x, y *tree) int { return cmp.Compare(l.order(x), l.order(y)) })
	branch := func(i, want int) *block {
		if last && i == len(kids)-1 {
			return l.lay(kids[i], want, true)
		}
		return l.inside(kids[i], want)
	}
	b := &block{w: want}
	for i := range kids {
		b.w = max(b.w, branch(i, 0).w)
	}
	row := 0
	for i := range kids {
		k := branch(i, b.w)
		row = b.h
		b.put(k, point{0, row})
		b.rails = b.rails || k.rails
	}
	b.down(t.a, 0, 0, row)
	b.down(t.b, b.w, 0, row)
	return b
}

// order puts a secondary first and what feeds the next ladder last, so that a
// transformer stands between the two.
func (l *layer) order(t *tree) int {
	switch {
	case t.shape == one && t.element.winding == secondary:
		return -1
	case slices.ContainsFunc(t.all(), func(e *element) bool { return e.winding == primary && l.last[e.part] }):
		return 1
	}
	return 0
}

// series lays a row, or where that is too long puts what leads to its middle into the
// rails.
func (l *layer) series(t *tree, want int) *block {
	long := 0
	for _, k := range t.kids {
		long += l.inside(k, 0).w
	}
	if long > l.limit && !strings.Contains(t.a+t.b, leafMark) { // no sign of earth stands upside down
		if from, to := l.middle(t); to-from < len(t.kids) {
			return l.railed(t, from, to, want)
		}
	}
	return l.row(t, want)
}

// row lays a series from left to right, what hangs at its joints below. Room to spare
// goes before the load.
func (l *layer) row(t *tree, want int) *block {
	joints := make([]int, len(t.kids))
	c, reach := 0, 0
	for i, k := range t.kids {
		c += l.inside(k, 0).w
		joints[i] = c
		if i < len(t.hang) {
			for _, h := range t.hang[i] {
				reach = max(reach, c+l.inside(h, 0).w+1)
			}
		}
	}
	b := &block{w: max(want, c, reach)}
	slack := b.w - c
	if reach > 0 {
		slack = 0
	}
	c = 0
	for i, k := range t.kids {
		if slack > 0 && i > 0 && load(k) {
			b.across(k.a, 0, c, c+slack)
			c, slack = c+slack, 0
		}
		kid := l.inside(k, 0)
		b.put(kid, point{c, 0})
		c += kid.w
	}
	b.across(t.b, 0, c, b.w)
	// From the right, so that no branch lies across the way down to another.
	for i, hung := range slices.Backward(t.hang) {
		for _, h := range hung {
			b.down(h.a, joints[i], 0, b.h)
			b.put(l.inside(h, 0), point{joints[i], b.h})
		}
	}
	return b
}

// middle is the run of kids that stays between the rails: the largest that is more
// than one element, else as many elements as the limit lets.
func (l *layer) middle(t *tree) (from, to int) {
	most := 0
	for i, k := range t.kids {
		if b := l.lay(k, 0, true); k.shape != one && b.w*b.h > most {
			most, from, to = b.w*b.h, i, i+1
		}
	}
	if most > 0 {
		return from, to
	}
	from = (len(t.kids) - l.limit + 1) / 2
	return from, from + l.limit
}

// railed stands what comes before the middle of a series on the left column and what
// comes after it on the right one, both from the top, as two legs of a supply run.
func (l *layer) railed(t *tree, from, to, want int) *block {
	core := t.slice(from, to)
	legs := [2]*block{{h: 1}, {h: 1}}
	var hung [2][]*tree
	if from > 0 {
		legs[0] = l.leg(t.slice(0, from))
		hung[0] = t.hang[from-1]
	}
	if to < len(t.kids) {
		legs[1] = l.leg(t.slice(to, len(t.kids)).flipped()).mirrored()
		hung[1] = t.hang[to-1]
	}
	want = max(want, legs[0].w+legs[1].w+1)
	below := l.headed(core, hung[0], hung[1], want, true)
	rails := 0
	for _, leg := range legs {
		rails = max(rails, leg.h-1)
		if leg.w > 0 {
			rails = max(rails, leg.h) // branches of a leg meet in its last row
		}
	}
	b := &block{w: below.w, rails: true}
	b.put(below, point{0, rails})
	b.put(legs[0], point{})
	b.put(legs[1], point{b.w - legs[1].w, 0})
	b.down(core.a, 0, legs[0].h-1, rails)
	b.down(core.b, b.w, legs[1].h-1, rails)
	return b
}

// leg is what stands in a rail, all in one line however long.
func (l *layer) leg(t *tree) *block {
	if t.shape == series {
		return l.row(t, 0).standing()
	}
	return l.inside(t, 0).standing()
}

// slice is a run of a series' kids as a tree.
func (t *tree) slice(from, to int) *tree {
	if to-from == 1 {
		return t.kids[from]
	}
	return &tree{shape: series, a: t.kids[from].a, b: t.kids[to-1].b, kids: t.kids[from:to], hang: t.hang[from : to-1]}
}

// headed lays a tree below what hangs at its two ends, left and right in one row where
// there is room. Where it is tied its ends lead up to the first row all the same. Nothing
// follows below, so elements may stand on the outer columns.
func (l *layer) headed(t *tree, left, right []*tree, want int, tied bool) *block {
	for _, hung := range [][]*tree{left, right} {
		for _, h := range hung {
			want = max(want, l.inside(h, 0).w+1)
		}
	}
	core := l.lay(t, want, true)
	b := &block{w: core.w, rails: core.rails}
	first := l.hung(b, left, right)
	row := b.h
	b.put(core, point{0, row})
	if tied {
		first = [2]int{}
	}
	b.down(t.a, 0, min(first[0], row), row)
	b.down(t.b, b.w, min(first[1], row), row)
	return b
}

// hung puts what hangs at the two outer columns below one another, and says the first
// row a branch leaves each from: the end where none does.
func (l *layer) hung(b *block, left, right []*tree) (first [2]int) {
	const none = 1 << 20
	first = [2]int{none, none}
	for i := range max(len(left), len(right)) {
		row, taken := b.h, 0
		if i < len(left) {
			h := l.inside(left[i], 0)
			b.put(h, point{0, row})
			taken, first[0] = h.w, min(first[0], row)
		}
		if i < len(right) {
			h := l.inside(right[i], 0).mirrored()
			if taken+h.w >= b.w {
				row = b.h
			}
			b.put(h, point{b.w - h.w, row})
			first[1] = min(first[1], row)
		}
	}
	return first
}

// comb is a section in which all hangs on one node.
func (l *layer) comb(node string, teeth []*tree) *block {
	b := &block{}
	for _, t := range teeth {
		h, row := l.inside(t, 0), b.h
		b.w = max(b.w, h.w)
		b.put(h, point{0, row})
		b.down(node, 0, 0, row)
	}
	return b
}

// laid is a section's whole block. Where a transformer feeds it from above, its
// secondary is the first row.
func (l *layer) laid(s *section) *block {
	root, left, right := s.apart()
	if root == nil {
		return l.comb(s.left, left)
	}
	at := -1
	if s.from != nil && root.shape == parallel {
		at = slices.IndexFunc(root.kids, func(k *tree) bool { return l.order(k) < 0 && k.element.part == s.from })
	}
	if at < 0 {
		return l.headed(root, left, right, 0, false)
	}
	rest := slices.Delete(slices.Clone(root.kids), at, at+1)
	below := rest[0]
	if len(rest) > 1 {
		below = &tree{shape: parallel, a: root.a, b: root.b, kids: rest}
	}
	ladder := l.headed(below, left, right, 0, true)
	b := &block{w: ladder.w}
	b.put(l.one(root.kids[at], ladder.w), point{})
	b.put(ladder, point{0, 1})
	b.down(root.a, 0, 0, 1)
	b.down(root.b, b.w, 0, 1)
	return b
}
