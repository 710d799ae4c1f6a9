package ladder

import "strings"

// point is a crossing of a column line and a row line of the grid.
type point struct{ c, r int }

func (p point) plus(q point) point { return point{p.c + q.c, p.r + q.r} }

// cell is an element on a line of the grid, from at to the next crossing right of it,
// or below it when it stands.
type cell struct {
	e    *element
	at   point
	down bool
	flip bool // its first node is at the far end
	left bool // of one that stands: its words are on the left
}

// end is the crossing of the cell's near (0) or far (1) end.
func (c *cell) end(i int) point {
	switch {
	case i == 0:
		return c.at
	case c.down:
		return c.at.plus(point{0, 1})
	}
	return c.at.plus(point{1, 0})
}

// node is the node at the cell's near (0) or far (1) end.
func (c *cell) node(i int) string {
	if c.flip {
		i = 1 - i
	}
	return c.e.nodes[i]
}

// run is a straight wire along a line of the grid.
type run struct {
	node string
	a, b point
}

// block is a part of a ladder on a grid of its own: w gaps between column lines, h row
// lines. Its left node is at its first crossing, its right one at the end of its first
// row.
type block struct {
	w, h  int
	cells []cell
	runs  []run
	// rails marks a block with elements standing on its outer columns: nothing else
	// may run there.
	rails bool
}

// put lays another block over this one with its first crossing at a place.
func (b *block) put(o *block, at point) {
	for _, c := range o.cells {
		c.at = c.at.plus(at)
		b.cells = append(b.cells, c)
	}
	for _, r := range o.runs {
		b.wire(r.node, r.a.plus(at), r.b.plus(at))
	}
	b.h = max(b.h, at.r+o.h)
}

// wire joins two crossings; a leaf has no wire but its element's own.
func (b *block) wire(node string, from, to point) {
	if from != to && !strings.Contains(node, leafMark) {
		b.runs = append(b.runs, run{node, from, to})
	}
}

// across wires a node along a row.
func (b *block) across(node string, row, from, to int) {
	b.wire(node, point{from, row}, point{to, row})
}

// down wires a node along a column.
func (b *block) down(node string, column, from, to int) {
	b.wire(node, point{column, from}, point{column, to})
}

// standing is the block turned so that its row runs down.
func (b *block) standing() *block {
	t := &block{w: b.h - 1, h: b.w + 1}
	turn := func(p point) point { return point{p.r, p.c} }
	for _, c := range b.cells {
		c.at, c.down, c.left = turn(c.at), !c.down, false
		t.cells = append(t.cells, c)
	}
	for _, r := range b.runs {
		t.runs = append(t.runs, run{r.node, turn(r.a), turn(r.b)})
	}
	return t
}

// mirrored is the block with left and right exchanged.
func (b *block) mirrored() *block {
	m := &block{w: b.w, h: b.h, rails: b.rails}
	turn := func(p point) point { return point{b.w - p.c, p.r} }
	for _, c := range b.cells {
		if c.down {
			c.at, c.left = turn(c.at), !c.left
		} else {
			c.at, c.flip = turn(c.end(1)), !c.flip
		}
		m.cells = append(m.cells, c)
	}
	for _, r := range b.runs {
		m.runs = append(m.runs, run{r.node, turn(r.a), turn(r.b)})
	}
	return m
}
