package circuit

import (
	"fmt"
	"math"
	"math/cmplx"
)

// Omega is the angular frequency of the supply, rad/s.
const Omega = 2 * math.Pi * 60

// Ground is the reference node's name.
const Ground = "ground"

// Shape is what an element is to the solver.
type Shape int

// The shapes of elements.
const (
	Branch      Shape = iota // two nodes, an admittance
	Source                   // ground and a node held at a voltage
	Transformer              // primary pair and secondary pair
)

// Element is one part of the wiring.
type Element struct {
	Name  string
	Shape Shape
	Nodes []string
}

// Params is what an element is at the moment.
type Params struct {
	// Y is a branch's admittance at 60 Hz, siemens; 0 is open.
	Y complex128
	// E is a source's voltage, or a transformer's open-circuit ratio secondary to
	// primary (real).
	E complex128
	// Zs is a transformer's impedance seen from the secondary, ohm; Ym its
	// magnetising admittance on the primary, siemens. Zs infinite is an open
	// secondary; Ym zero with E zero an open primary.
	Zs, Ym complex128
}

// Network is the wiring of one unit.
type Network struct {
	nodes    []string
	index    map[string]int
	elements []Element
	at       [][4]int // element → node numbers
	fixed    []int    // node → element that holds it, -1 free; ground holds itself
	island   []int    // node → island number, -1 for held nodes
	row      []int    // node → row in its island's system, -1 for held nodes
	islands  []islandPlan
	leak     float64 // siemens from every free node to ground
}

// islandPlan is a set of free nodes joined by elements.
type islandPlan struct {
	nodes    []int // free nodes
	elements []int // elements with at least one node in it
}

// held marks ground in Network.fixed.
const held = -2

// New lays out a network. leakOhms is the resistance from every node to ground.
// It fails on an element with the wrong number of nodes, a source that does not
// hang on ground, or two sources on one node.
func New(elements []Element, leakOhms float64) (*Network, error) {
	n := &Network{index: map[string]int{}, elements: elements, leak: 1 / leakOhms}
	n.node(Ground)
	for _, e := range elements {
		want := map[Shape]int{Branch: 2, Source: 2, Transformer: 4}[e.Shape]
		if len(e.Nodes) != want {
			return nil, fmt.Errorf("laying out %s: it has %d nodes; give it %d", e.Name, len(e.Nodes), want)
		}
		var at [4]int
		for i, name := range e.Nodes {
			at[i] = n.node(name)
		}
		n.at = append(n.at, at)
	}
	n.fixed = make([]int, len(n.nodes))
	for i := range n.fixed {
		n.fixed[i] = -1
	}
	n.fixed[0] = held
	for i, e := range elements {
		if e.Shape != Source {
			continue
		}
		if e.Nodes[0] != Ground {
			return nil, fmt.Errorf("laying out %s: a source's first node is %q; hang it on %q", e.Name, e.Nodes[0], Ground)
		}
		if n.fixed[n.at[i][1]] != -1 {
			return nil, fmt.Errorf("laying out %s: node %q is already held by another source; give it its own node", e.Name, e.Nodes[1])
		}
		n.fixed[n.at[i][1]] = i
	}
	n.plan()
	return n, nil
}

func (n *Network) node(name string) int {
	if i, ok := n.index[name]; ok {
		return i
	}
	i := len(n.nodes)
	n.index[name] = i
	n.nodes = append(n.nodes, name)
	return i
}

// plan finds the islands: free nodes joined by any element.
func (n *Network) plan() {
	parent := make([]int, len(n.nodes))
	for i := range parent {
		parent[i] = i
	}
	var find func(int) int
	find = func(i int) int {
		if parent[i] != i {
			parent[i] = find(parent[i])
		}
		return parent[i]
	}
	for e := range n.elements {
		first := -1
		for _, v := range n.span(e) {
			if n.fixed[v] != -1 {
				continue
			}
			if first < 0 {
				first = v
			}
			parent[find(v)] = find(first)
		}
	}
	n.island, n.row = make([]int, len(n.nodes)), make([]int, len(n.nodes))
	number := map[int]int{}
	for v := range n.nodes {
		n.island[v], n.row[v] = -1, -1
		if n.fixed[v] != -1 {
			continue
		}
		root := find(v)
		k, ok := number[root]
		if !ok {
			k = len(n.islands)
			number[root] = k
			n.islands = append(n.islands, islandPlan{})
		}
		n.island[v] = k
		n.row[v] = len(n.islands[k].nodes)
		n.islands[k].nodes = append(n.islands[k].nodes, v)
	}
	for e := range n.elements {
		for _, v := range n.span(e) {
			if k := n.island[v]; k >= 0 {
				n.islands[k].elements = append(n.islands[k].elements, e)
				break
			}
		}
	}
}

// span lists an element's node numbers.
func (n *Network) span(e int) []int { return n.at[e][:len(n.elements[e].Nodes)] }

// Nodes lists the node names; ground is first.
func (n *Network) Nodes() []string { return n.nodes }

// Node gives a node's number by name.
func (n *Network) Node(name string) (int, bool) {
	i, ok := n.index[name]
	return i, ok
}

// Admittance is 1/(ohms + j·reactance) + jωC. ohms NaN leaves the series part
// out (a capacitor alone); infinite is open. uf is in microfarads.
func Admittance(ohms, reactance, uf float64) complex128 {
	y := complex(0, Omega*uf*1e-6)
	if math.IsNaN(ohms) || math.IsInf(ohms, 0) {
		return y
	}
	z := complex(ohms, reactance)
	if cmplx.Abs(z) < 1e-6 {
		z = 1e-6
	}
	return y + 1/z
}
