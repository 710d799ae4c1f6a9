package circuit

import (
	"fmt"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// Solution is a solved network: node voltages to ground, element currents, and
// the impedance seen between any two nodes.
type Solution struct {
	net    *Network
	params []Params
	v      []complex128
	parts  []*part
}

// part is one island solved.
type part struct {
	lu mat.LU
	v  []complex128 // by row
}

// Memory keeps solved islands by a key the caller gives for what its elements
// are. The zero value is ready; it is not safe for concurrent use.
type Memory struct {
	parts map[string]*part
}

// Solve finds the voltages. params has one entry an element. key, when memory is
// given, returns a string that is equal exactly when an island's elements and the
// sources that feed it are equal. The error names an island whose system cannot
// be solved.
func (n *Network) Solve(params []Params, memory *Memory, key func(island int, elements []int) string) (*Solution, error) {
	s := &Solution{net: n, params: params, v: make([]complex128, len(n.nodes)), parts: make([]*part, len(n.islands))}
	for v, e := range n.fixed {
		if e >= 0 {
			s.v[v] = params[e].E
		}
	}
	for k := range n.islands {
		plan := &n.islands[k]
		var id string
		if memory != nil {
			id = key(k, plan.elements)
			if p, ok := memory.parts[id]; ok {
				s.adopt(plan, k, p)
				continue
			}
		}
		p, err := n.solveIsland(plan, params, s.v)
		if err != nil {
			return nil, fmt.Errorf("solving the island of %s: %w", n.nodes[plan.nodes[0]], err)
		}
		if memory != nil {
			if memory.parts == nil {
				memory.parts = map[string]*part{}
			}
			memory.parts[id] = p
		}
		s.adopt(plan, k, p)
	}
	return s, nil
}

func (s *Solution) adopt(plan *islandPlan, k int, p *part) {
	s.parts[k] = p
	for r, v := range plan.nodes {
		s.v[v] = p.v[r]
	}
}

// stamp adds an element's admittance matrix over its own nodes.
func stamp(shape Shape, p Params, add func(i, j int, y complex128)) {
	pair := func(i, j int, y complex128) {
		add(i, i, y)
		add(j, j, y)
		add(i, j, -y)
		add(j, i, -y)
	}
	switch shape {
	case Branch:
		if p.Y != 0 {
			pair(0, 1, p.Y)
		}
	case Transformer:
		if p.Ym != 0 {
			pair(0, 1, p.Ym)
		}
		if cmplx.IsInf(p.Zs) || p.Zs == 0 {
			return
		}
		// Is = (r·Vp − Vs)/Zs out of the secondary; r·Is more into the primary.
		r, y := p.E, 1/p.Zs
		pair(2, 3, y)
		pair(0, 1, r*r*y)
		for _, c := range [4][3]int{{0, 2, -1}, {0, 3, 1}, {1, 2, 1}, {1, 3, -1}} {
			t := complex(float64(c[2]), 0) * r * y
			add(c[0], c[1], t)
			add(c[1], c[0], t)
		}
	}
}

func (n *Network) solveIsland(plan *islandPlan, params []Params, fixed []complex128) (*part, error) {
	m := len(plan.nodes)
	a := mat.NewDense(2*m, 2*m, nil)
	b := mat.NewVecDense(2*m, nil)
	put := func(i, j int, y complex128) {
		a.Set(i, j, a.At(i, j)+real(y))
		a.Set(i+m, j+m, a.At(i+m, j+m)+real(y))
		a.Set(i, j+m, a.At(i, j+m)-imag(y))
		a.Set(i+m, j, a.At(i+m, j)+imag(y))
	}
	for r := range plan.nodes {
		put(r, r, complex(n.leak, 0))
	}
	for _, e := range plan.elements {
		at := n.at[e]
		stamp(n.elements[e].Shape, params[e], func(i, j int, y complex128) {
			ri, free := plan.row[at[i]]
			if !free {
				return
			}
			if rj, free := plan.row[at[j]]; free {
				put(ri, rj, y)
				return
			}
			inject := -y * fixed[at[j]]
			b.SetVec(ri, b.AtVec(ri)+real(inject))
			b.SetVec(ri+m, b.AtVec(ri+m)+imag(inject))
		})
	}
	p := &part{v: make([]complex128, m)}
	p.lu.Factorize(a)
	x := mat.NewVecDense(2*m, nil)
	if err := p.lu.SolveVecTo(x, false, b); err != nil {
		if _, illConditioned := err.(mat.Condition); !illConditioned {
			return nil, fmt.Errorf("%w; check for a node that hangs on nothing", err)
		}
	}
	for r := range p.v {
		p.v[r] = complex(x.AtVec(r), x.AtVec(r+m))
	}
	return p, nil
}

// Voltage is the phasor from node b to node a, volts rms.
func (s *Solution) Voltage(a, b int) complex128 { return s.v[a] - s.v[b] }

// Current is the phasor current into an element at its first node, amps rms. For
// a source it is not defined and is 0.
func (s *Solution) Current(e int) complex128 {
	var i complex128
	at := s.net.at[e]
	stamp(s.net.elements[e].Shape, s.params[e], func(r, c int, y complex128) {
		if r == 0 {
			i += y * s.v[at[c]]
		}
	})
	return i
}

// Impedance is what a meter between two nodes sees with the sources dead, ohm.
// Two nodes in separate islands are each seen to ground and add.
func (s *Solution) Impedance(a, b int) complex128 {
	ka, kb := s.net.island[a], s.net.island[b]
	switch {
	case ka < 0 && kb < 0:
		return 0
	case ka == kb:
		return s.probe(ka, a, b)
	}
	var z complex128
	if ka >= 0 {
		z += s.probe(ka, a, -1)
	}
	if kb >= 0 {
		z += s.probe(kb, b, -1)
	}
	return z
}

func (s *Solution) probe(k, a, b int) complex128 {
	plan, p := &s.net.islands[k], s.parts[k]
	m := len(plan.nodes)
	rhs := mat.NewVecDense(2*m, nil)
	rhs.SetVec(plan.row[a], 1)
	if b >= 0 {
		rhs.SetVec(plan.row[b], -1)
	}
	x := mat.NewVecDense(2*m, nil)
	if err := p.lu.SolveVecTo(x, false, rhs); err != nil {
		if _, illConditioned := err.(mat.Condition); !illConditioned {
			return 0
		}
	}
	z := complex(x.AtVec(plan.row[a]), x.AtVec(plan.row[a]+m))
	if b >= 0 {
		z -= complex(x.AtVec(plan.row[b]), x.AtVec(plan.row[b]+m))
	}
	return z
}

// Read is what a voltmeter of the given input resistance shows between two nodes,
// volts rms, with the impedance it looks into.
func (s *Solution) Read(a, b int, meterOhms float64) (volts float64, source complex128) {
	source = s.Impedance(a, b)
	load := complex(meterOhms, 0)
	return cmplx.Abs(s.Voltage(a, b) * load / (load + source)), source
}
