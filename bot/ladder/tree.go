package ladder

import (
	"cmp"
	"slices"
)

// shape is how a tree's kids lie to one another.
type shape int

const (
	one      shape = iota // an element
	series                // one after another
	parallel              // side by side
	rigid                 // neither: a bridge, laid out node by node
)

// tree is a circuit between two nodes, taken apart into series and parallel.
type tree struct {
	shape    shape
	a, b     string
	element  *element
	kids     []*tree
	hang     [][]*tree // of a series: what hangs at the joint after each kid but the last
	elements []*element
}

// flipped is the tree seen from the other side.
func (t *tree) flipped() *tree {
	f := *t
	f.a, f.b = t.b, t.a
	f.kids = make([]*tree, len(t.kids))
	for i, k := range t.kids {
		f.kids[i] = k.flipped()
	}
	if t.shape == series {
		slices.Reverse(f.kids)
		f.hang = slices.Clone(t.hang)
		slices.Reverse(f.hang)
	}
	return &f
}

func (t *tree) from(a string) *tree {
	if t.a == a {
		return t
	}
	return t.flipped()
}

// all lists the tree's elements, what hangs on it included.
func (t *tree) all() []*element {
	switch t.shape {
	case one:
		return []*element{t.element}
	case rigid:
		return t.elements
	default:
	}
	var out []*element
	for _, k := range t.kids {
		out = append(out, k.all()...)
	}
	for _, hung := range t.hang {
		for _, h := range hung {
			out = append(out, h.all()...)
		}
	}
	return out
}

// first is the place of the tree's first element in the netlist.
func (t *tree) first() int {
	return slices.MinFunc(t.all(), func(a, b *element) int { return cmp.Compare(a.order, b.order) }).order
}

// leaks is 1 for a way that is none while the machine is sound.
func (t *tree) leaks() int {
	if t.shape == one && t.element.part.symbol == leak {
		return 1
	}
	return 0
}

// beside puts trees between the same two nodes side by side.
func beside(trees ...*tree) *tree {
	p := &tree{shape: parallel, a: trees[0].a, b: trees[0].b}
	for _, t := range trees {
		if t = t.from(p.a); t.shape == parallel {
			p.kids = append(p.kids, t.kids...)
		} else {
			p.kids = append(p.kids, t)
		}
	}
	slices.SortStableFunc(p.kids, func(x, y *tree) int {
		return cmp.Or(cmp.Compare(x.leaks(), y.leaks()), cmp.Compare(x.first(), y.first()))
	})
	return p
}

// after puts two trees one after another, with what hangs at the node between.
func after(x, y *tree, hung []*tree) *tree {
	s := &tree{shape: series, a: x.a, b: y.b}
	for _, t := range []*tree{x, y} {
		if len(s.kids) > 0 {
			s.hang = append(s.hang, hung)
		}
		if t.shape == series {
			s.kids, s.hang = append(s.kids, t.kids...), append(s.hang, t.hang...)
		} else {
			s.kids = append(s.kids, t)
		}
	}
	return s
}

// graph is what is left of a section while it is taken apart.
type graph struct {
	edges       []*tree
	hang        map[string][]*tree // by the node they hang at, from it outwards
	left, right string
}

// apart takes a section apart: its tree, and what hangs at its two poles. There is no
// tree where the poles are one.
func (s *section) apart() (root *tree, atLeft, atRight []*tree) {
	g := &graph{hang: map[string][]*tree{}, left: s.left, right: s.right}
	for _, e := range s.elements {
		g.edges = append(g.edges, &tree{shape: one, a: e.nodes[0], b: e.nodes[1], element: e})
	}
	for g.side() || g.loose() || g.chain() {
		continue
	}
	if len(g.edges) > 1 {
		g.stuck()
	}
	if s.left == s.right {
		return nil, g.hang[s.left], nil
	}
	root = g.edges[0].from(s.left)
	return root, g.hang[s.left], g.hang[s.right]
}

// side makes one of edges between the same nodes.
func (g *graph) side() bool {
	for i, x := range g.edges {
		same := []*tree{x}
		rest := slices.DeleteFunc(slices.Clone(g.edges[i+1:]), func(y *tree) bool {
			alike := x.a == y.a && x.b == y.b || x.a == y.b && x.b == y.a
			if alike {
				same = append(same, y)
			}
			return alike
		})
		if len(same) > 1 {
			g.edges = append(append(slices.Clone(g.edges[:i]), beside(same...)), rest...)
			return true
		}
	}
	return false
}

// degrees lists the nodes that are no poles with the edges at each.
func (g *graph) degrees() (nodes []string, at map[string][]int) {
	at = map[string][]int{}
	for i, e := range g.edges {
		for _, node := range []string{e.a, e.b} {
			if node == g.left || node == g.right {
				continue
			}
			if at[node] == nil {
				nodes = append(nodes, node)
			}
			at[node] = append(at[node], i)
		}
	}
	return nodes, at
}

// loose takes off an edge that leads nowhere: it hangs at its other end.
func (g *graph) loose() bool {
	nodes, at := g.degrees()
	for _, node := range nodes {
		if len(at[node]) != 1 {
			continue
		}
		e := g.edges[at[node][0]].from(node).flipped()
		g.edges = slices.Delete(g.edges, at[node][0], at[node][0]+1)
		if hung := g.hang[node]; len(hung) > 0 {
			e = after(e, hung[0], hung[1:])
			delete(g.hang, node)
		}
		g.hang[e.a] = append(g.hang[e.a], e)
		return true
	}
	return false
}

// chain joins two edges at a node that has no others.
func (g *graph) chain() bool {
	nodes, at := g.degrees()
	for _, node := range nodes {
		if len(at[node]) != 2 {
			continue
		}
		x, y := g.edges[at[node][0]].from(node).flipped(), g.edges[at[node][1]].from(node)
		g.edges[at[node][0]] = after(x, y, g.hang[node])
		g.edges = slices.Delete(g.edges, at[node][1], at[node][1]+1)
		delete(g.hang, node)
		return true
	}
	return false
}

// stuck makes one rigid tree of what is neither series nor parallel.
func (g *graph) stuck() {
	r := &tree{shape: rigid, a: g.left, b: g.right}
	for _, e := range g.edges {
		r.elements = append(r.elements, e.all()...)
	}
	for node, hung := range g.hang {
		if node == g.left || node == g.right {
			continue
		}
		for _, h := range hung {
			r.elements = append(r.elements, h.all()...)
		}
		delete(g.hang, node)
	}
	slices.SortFunc(r.elements, func(a, b *element) int { return cmp.Compare(a.order, b.order) })
	g.edges = []*tree{r}
}
