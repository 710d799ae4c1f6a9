package ladder

import (
	"cmp"
	"slices"
	"strings"
)

// bridge lays out what is neither series nor parallel: every node that more than two
// elements meet at has a column to itself, from the left pole to the right one, and
// every chain of elements between two of them lies in a row right of the nearer.
func bridge(t *tree, want int) *block {
	chains := chainsOf(t)
	column := columns(t, chains, want)
	b := &block{w: column[t.b]}
	slices.SortStableFunc(chains, func(x, y *chain) int {
		return cmp.Or(cmp.Compare(column[x.a], column[y.a]), cmp.Compare(column[x.b], column[y.b]))
	})
	free := []int{}             // by row: the column it is taken up to
	up := []string{}            // by row: the node there
	span := map[string][2]int{} // by node: its first and last row
	for _, x := range chains {
		row := slices.IndexFunc(free, func(c int) bool { return c < column[x.a] })
		if touching := touches(free, up, column[x.a], x.a); touching >= 0 && (row < 0 || touching < row) {
			row = touching
		}
		if row < 0 {
			row, free, up = len(free), append(free, 0), append(up, "")
		}
		free[row], up[row] = column[x.b], x.b
		x.put(b, column, row)
		for _, node := range []string{x.a, x.b} {
			at, met := span[node]
			if !met {
				at = [2]int{row, row}
			}
			span[node] = [2]int{min(at[0], row), max(at[1], row)}
		}
	}
	for _, x := range chains {
		for _, node := range []string{x.a, x.b} {
			if at, ok := span[node]; ok {
				b.down(node, column[node], at[0], at[1])
				delete(span, node)
			}
		}
	}
	b.h = max(b.h, len(free))
	// The block is entered and left at its first row.
	return b.entered(t, column)
}

func touches(free []int, up []string, c int, node string) int {
	for row := range free {
		if free[row] == c && up[row] == node {
			return row
		}
	}
	return -1
}

// entered brings the poles' columns to the first row.
func (b *block) entered(t *tree, column map[string]int) *block {
	for _, node := range []string{t.a, t.b} {
		first := -1
		for _, r := range b.runs {
			for _, p := range []point{r.a, r.b} {
				if r.node == node && p.c == column[node] && (first < 0 || p.r < first) {
					first = p.r
				}
			}
		}
		for i := range b.cells {
			for j := range 2 {
				if p := b.cells[i].end(j); b.cells[i].node(j) == node && (first < 0 || p.r < first) {
					first = p.r
				}
			}
		}
		b.down(node, column[node], 0, max(first, 0))
	}
	return b
}

// chain is a run of elements with nothing else at its inner nodes.
type chain struct {
	a, b     string
	elements []*element
	inner    []string
}

func (x *chain) put(b *block, column map[string]int, row int) {
	at := column[x.a]
	if strings.Contains(x.b, leafMark) { // a sign of earth wants its column to itself
		at = column[x.b] - len(x.elements)
		b.across(x.a, row, column[x.a], at)
	}
	nodes := slices.Concat([]string{x.a}, x.inner, []string{x.b})
	for i, e := range x.elements {
		b.cells = append(b.cells, cell{e: e, at: point{at + i, row}, flip: e.nodes[0] != nodes[i]})
	}
	b.across(x.b, row, at+len(x.elements), column[x.b])
	b.h = max(b.h, row+1)
}

func (x *chain) flipped() *chain {
	f := &chain{x.b, x.a, slices.Clone(x.elements), slices.Clone(x.inner)}
	slices.Reverse(f.elements)
	slices.Reverse(f.inner)
	return f
}

// chainsOf joins elements at nodes that have no others, unless that makes a ring.
func chainsOf(t *tree) []*chain {
	var out []*chain
	for _, e := range t.elements {
		out = append(out, &chain{a: e.nodes[0], b: e.nodes[1], elements: []*element{e}})
	}
	for _, node := range nodesOf(t.elements) {
		if node == t.a || node == t.b {
			continue
		}
		var at []int
		for i, x := range out {
			if x.a == node || x.b == node {
				at = append(at, i)
			}
		}
		if len(at) != 2 {
			continue
		}
		x, y := out[at[0]], out[at[1]]
		if x.b != node {
			x = x.flipped()
		}
		if y.a != node {
			y = y.flipped()
		}
		if x.a == y.b {
			continue
		}
		out[at[0]] = &chain{x.a, y.b, slices.Concat(x.elements, y.elements), slices.Concat(x.inner, []string{node}, y.inner)}
		out = slices.Delete(out, at[1], at[1]+1)
	}
	return out
}

// columns gives each node that is no chain's inner one a column: the nearer to the left
// pole and the farther from the right one, the more to the left; the next column leaves
// room for the longest chain that starts there.
func columns(t *tree, chains []*chain, want int) map[string]int {
	fromA, fromB := distances(t.elements, t.a), distances(t.elements, t.b)
	side := func(node string) int {
		switch node {
		case t.a:
			return -1 << 20
		case t.b:
			return 1 << 20
		}
		return fromA[node] - fromB[node]
	}
	var nodes []string
	for _, x := range chains {
		for _, node := range []string{x.a, x.b} {
			if !slices.Contains(nodes, node) {
				nodes = append(nodes, node)
			}
		}
	}
	slices.SortStableFunc(nodes, func(x, y string) int { return cmp.Compare(side(x), side(y)) })
	for i, x := range chains {
		if slices.Index(nodes, x.a) > slices.Index(nodes, x.b) {
			chains[i] = x.flipped()
		}
	}
	column := map[string]int{}
	c := 0
	for _, node := range nodes {
		if node == t.b {
			c = max(c, want)
		}
		step := 1
		for _, x := range chains {
			if x.b == node && strings.Contains(node, leafMark) {
				c += len(x.elements) - 1
			}
		}
		column[node] = c
		for _, x := range chains {
			if x.a == node {
				step = max(step, len(x.elements))
			}
		}
		c += step
	}
	return column
}
