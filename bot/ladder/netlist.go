package ladder

import (
	"fmt"
	"maps"
	"slices"

	"proveout/knowledge"
)

// netlist is a unit's wiring as it is drawn.
type netlist struct {
	title    string
	parts    []*part
	nodes    map[string]knowledge.Node
	earth    string              // the node drawn as an earth sign wherever it is met; empty for none
	circuits []knowledge.Circuit // for the names of sections
}

// part is a component with the symbol it is drawn as.
type part struct {
	id, name, place string
	symbol          symbol
	nodes           []string
	rotor           string // the rotor a winding turns
}

// element is what is placed on the grid: a part between two nodes, or one winding of a
// transformer.
type element struct {
	part    *part
	winding winding
	nodes   [2]string
	order   int
}

// winding says which of a transformer's an element is.
type winding int

const (
	whole winding = iota
	primary
	secondary
)

// read takes the wiring of an equipment from knowledge.
func read(base *knowledge.Base, equipment string) (*netlist, error) {
	e := base.Equipment[equipment]
	if e == nil {
		return nil, fmt.Errorf("drawing a unit: no equipment %q; name one of %v", equipment, slices.Sorted(maps.Keys(base.Equipment)))
	}
	w := base.Wiring(equipment)
	n := &netlist{title: e.Name, nodes: w.Nodes}
	references := map[string]int{}
	for i := range w.Components {
		c := &w.Components[i]
		p := &part{id: c.ID, name: c.Name, place: c.Place, nodes: c.Nodes, rotor: c.Rotor, symbol: symbolOf(base.Kinds[c.Kind], c)}
		if p.symbol == source {
			references[c.Nodes[0]]++
		}
		n.parts = append(n.parts, p)
	}
	// Two sources that share a node make a split service, and what they share is earth.
	for _, node := range slices.Sorted(maps.Keys(references)) {
		if references[node] > 1 && n.earth == "" {
			n.earth = node
		}
	}
	for _, ancestor := range base.Lineage(equipment) {
		for _, c := range ancestor.Circuits {
			if circuit := base.Circuits[c]; circuit != nil {
				n.circuits = append(n.circuits, *circuit)
			}
		}
	}
	return n, nil
}

// elements lists what is placed, an end at earth becoming a leaf of its own.
func (n *netlist) elements() []*element {
	var out []*element
	leaves := 0
	add := func(p *part, w winding, a, b string) {
		e := &element{part: p, winding: w, nodes: [2]string{a, b}, order: len(out)}
		for i, node := range e.nodes {
			if node == n.earth && n.earth != "" || i == 1 && a == b {
				leaves++
				e.nodes[i] = leafOf(node, leaves)
			}
		}
		out = append(out, e)
	}
	for _, p := range n.parts {
		switch {
		case p.symbol == transformer && len(p.nodes) == 4:
			add(p, primary, p.nodes[0], p.nodes[1])
			add(p, secondary, p.nodes[2], p.nodes[3])
		case len(p.nodes) == 2:
			add(p, whole, p.nodes[0], p.nodes[1])
		}
	}
	return out
}

const leafMark = "\x00"

func leafOf(node string, n int) string { return fmt.Sprintf("%s%s%d", node, leafMark, n) }
