package circuit

import (
	"errors"
	"fmt"
	"math/cmplx"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// Solution is a solved network: node voltages to ground, element currents, and
// the impedance seen between any two nodes. It reads currents from the params it
// was solved with, which are not to be changed afterwards, and remembers the
// impedances asked for, so it is not safe for concurrent use.
type Solution struct {
	net    *Network
	params []Params
	v      []complex128
	parts  []*part
}

// part is one island solved: the factors of its real system, rows of real parts
// before rows of imaginary ones.
type part struct {
	lu    blas64.General
	pivot []int
	v     []complex128          // by row
	seen  map[[2]int]complex128 // impedances by nodes, -1 is ground
}

// solve turns a right-hand side into the solution, in place.
func (p *part) solve(x []float64) {
	for i, k := range p.pivot {
		x[i], x[k] = x[k], x[i]
	}
	v := blas64.Vector{N: len(x), Inc: 1, Data: x}
	factor := blas64.Triangular{Uplo: blas.Lower, Diag: blas.Unit, N: p.lu.Rows, Stride: p.lu.Stride, Data: p.lu.Data}
	blas64.Trsv(blas.NoTrans, factor, v)
	factor.Uplo, factor.Diag = blas.Upper, blas.NonUnit
	blas64.Trsv(blas.NoTrans, factor, v)
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
	default: // a source fixes a voltage and has no admittance
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
	size := 2 * m
	p := &part{
		lu:    blas64.General{Rows: size, Cols: size, Stride: size, Data: make([]float64, size*size)},
		pivot: make([]int, size), v: make([]complex128, m),
	}
	a, b := p.lu.Data, make([]float64, size)
	put := func(i, j int, y complex128) {
		a[i*size+j] += real(y)
		a[(i+m)*size+j+m] += real(y)
		a[i*size+j+m] -= imag(y)
		a[(i+m)*size+j] += imag(y)
	}
	for r := range plan.nodes {
		put(r, r, complex(n.leak, 0))
	}
	for _, e := range plan.elements {
		at := n.at[e]
		stamp(n.elements[e].Shape, params[e], func(i, j int, y complex128) {
			ri, rj := n.row[at[i]], n.row[at[j]]
			switch {
			case ri < 0:
			case rj >= 0:
				put(ri, rj, y)
			default:
				inject := y * fixed[at[j]]
				b[ri] -= real(inject)
				b[ri+m] -= imag(inject)
			}
		})
	}
	if !lapack64.Getrf(p.lu, p.pivot) {
		return nil, errors.New("its system is singular; check for a node that hangs on nothing")
	}
	p.solve(b)
	for r := range p.v {
		p.v[r] = complex(b[r], b[r+m])
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

// probe drives one amp into node a and out of b, or out of ground when b is -1.
func (s *Solution) probe(k, a, b int) complex128 {
	p, row := s.parts[k], s.net.row
	if z, ok := p.seen[[2]int{a, b}]; ok {
		return z
	}
	m := len(p.v)
	x := make([]float64, 2*m)
	x[row[a]] = 1
	if b >= 0 {
		x[row[b]]--
	}
	p.solve(x)
	z := complex(x[row[a]], x[row[a]+m])
	if b >= 0 {
		z -= complex(x[row[b]], x[row[b]+m])
	}
	if p.seen == nil {
		p.seen = map[[2]int]complex128{}
	}
	p.seen[[2]int{a, b}] = z
	return z
}

// Read is what a voltmeter of the given input resistance shows between two nodes,
// volts rms, with the impedance it looks into.
func (s *Solution) Read(a, b int, meterOhms float64) (volts float64, source complex128) {
	source = s.Impedance(a, b)
	load := complex(meterOhms, 0)
	return cmplx.Abs(s.Voltage(a, b) * load / (load + source)), source
}
