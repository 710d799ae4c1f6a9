package ladder

import (
	"cmp"
	"slices"
	"strings"
)

// section is what is connected by wire: it is drawn as one ladder between two poles.
type section struct {
	title       string
	elements    []*element
	left, right string
	// from is the transformer whose secondary feeds the section from the one above it.
	from *part
}

// sections parts the netlist into ladders, in the order power goes: those with a source
// first, each followed by what its transformers feed.
func (n *netlist) sections() []*section {
	elements := n.elements()
	islands := connected(elements)
	slices.SortStableFunc(islands, func(a, b *section) int { return cmp.Compare(rank(a), rank(b)) })
	var out []*section
	placed := map[*section]bool{}
	var place func(s *section)
	place = func(s *section) {
		if placed[s] {
			return
		}
		placed[s] = true
		s.poles()
		s.title = n.titleOf(s)
		out = append(out, s)
		for _, e := range s.elements {
			if e.winding != primary {
				continue
			}
			for _, other := range islands {
				if !placed[other] && other.winding(e.part, secondary) != nil {
					place(other)
				}
			}
		}
	}
	for _, s := range islands {
		place(s)
	}
	return out
}

func rank(s *section) int {
	if slices.ContainsFunc(s.elements, func(e *element) bool { return e.part.symbol == source }) {
		return 0
	}
	if slices.ContainsFunc(s.elements, func(e *element) bool { return e.winding == primary }) {
		return 1
	}
	return 2
}

// connected groups elements that share nodes.
func connected(elements []*element) []*section {
	island := map[string]*section{}
	var all []*section
	for _, e := range elements {
		a, b := island[e.nodes[0]], island[e.nodes[1]]
		into := cmp.Or(a, b)
		if into == nil {
			into = &section{}
			all = append(all, into)
		}
		if a != nil && b != nil && a != b {
			into.elements = append(into.elements, b.elements...)
			for node, s := range island {
				if s == b {
					island[node] = into
				}
			}
			all = slices.DeleteFunc(all, func(s *section) bool { return s == b })
		}
		island[e.nodes[0]], island[e.nodes[1]] = into, into
		into.elements = append(into.elements, e)
	}
	for _, s := range all {
		slices.SortFunc(s.elements, func(a, b *element) int { return cmp.Compare(a.order, b.order) })
	}
	return all
}

// winding finds a transformer's winding in the section.
func (s *section) winding(p *part, w winding) *element {
	for _, e := range s.elements {
		if e.part == p && e.winding == w {
			return e
		}
	}
	return nil
}

// poles chooses what the rails are: the legs of the service, a source's two ends, a
// secondary's, else the two nodes that lie farthest apart. They are one where all hangs
// on a single node.
func (s *section) poles() {
	var hot []string
	for _, e := range s.elements {
		if e.part.symbol == source && !slices.Contains(hot, e.nodes[1]) && !strings.Contains(e.nodes[1], leafMark) {
			hot = append(hot, e.nodes[1])
		}
	}
	switch {
	case len(hot) > 1:
		s.left, s.right = hot[0], hot[1]
		return
	case len(hot) == 1:
		s.left = hot[0]
		for _, e := range s.elements {
			if e.part.symbol == source && e.nodes[1] == s.left && !strings.Contains(e.nodes[0], leafMark) && e.nodes[0] != s.left {
				s.right = e.nodes[0]
				return
			}
		}
		s.right = farthest(s.elements, s.left)
		return
	}
	for _, w := range []winding{secondary, primary} {
		for _, e := range s.elements {
			if e.winding == w && !strings.Contains(e.nodes[0]+e.nodes[1], leafMark) {
				s.left, s.right = e.nodes[0], e.nodes[1]
				return
			}
		}
	}
	s.left = s.elements[0].nodes[0]
	for _, node := range nodesOf(s.elements) {
		if !strings.Contains(node, leafMark) {
			s.left = farthest(s.elements, node)
			break
		}
	}
	s.right = farthest(s.elements, s.left)
}

// farthest is the node the most elements away from another: a leaf only from a leaf.
func farthest(elements []*element, from string) string {
	d, last := distances(elements, from), from
	for _, node := range nodesOf(elements) {
		if d[node] > d[last] && (strings.Contains(from, leafMark) || !strings.Contains(node, leafMark)) {
			last = node
		}
	}
	return last
}

func distances(elements []*element, from string) map[string]int {
	d := map[string]int{from: 0}
	for queue := []string{from}; len(queue) > 0; queue = queue[1:] {
		for _, e := range elements {
			for i, node := range e.nodes {
				if _, seen := d[e.nodes[1-i]]; node == queue[0] && !seen {
					d[e.nodes[1-i]] = d[node] + 1
					queue = append(queue, e.nodes[1-i])
				}
			}
		}
	}
	return d
}

// nodesOf lists nodes as elements name them.
func nodesOf(elements []*element) []string {
	var out []string
	seen := map[string]bool{}
	for _, e := range elements {
		for _, node := range e.nodes {
			if !seen[node] {
				seen[node] = true
				out = append(out, node)
			}
		}
	}
	return out
}

// titleOf is the name of the circuit most of a section's nodes are written in.
func (n *netlist) titleOf(s *section) string {
	title, most := "", 0
	for _, c := range n.circuits {
		here := 0
		for _, node := range nodesOf(s.elements) {
			if _, ok := c.Nodes[node]; ok {
				here++
			}
		}
		if here > most {
			title, most = c.Name, here
		}
	}
	return title
}
