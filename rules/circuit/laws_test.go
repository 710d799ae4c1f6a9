package circuit_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/rules/circuit"
)

const leak = 1e9

// slack is what a loose end, held by the leak alone beside milliohms and so 1e12
// worse conditioned than the rest, may lie off by: volts, and again for every 100.
const slack = 1e-2

// wiring is a random network: two held nodes, branches and transformers between
// random nodes.
type wiring struct {
	elements []circuit.Element
	params   []circuit.Params
	joints   int
}

// joint names a node nobody else has.
func (w *wiring) joint() string {
	w.joints++
	return fmt.Sprintf("joint %d", w.joints)
}

func (w *wiring) add(e circuit.Element, p circuit.Params) int {
	e.Name = fmt.Sprintf("e%d", len(w.elements))
	w.elements, w.params = append(w.elements, e), append(w.params, p)
	return len(w.elements) - 1
}

func (w *wiring) source(node string, e complex128) int {
	return w.add(circuit.Element{Shape: circuit.Source, Nodes: []string{circuit.Ground, node}}, circuit.Params{E: e})
}

func (w *wiring) branch(a, b string, y complex128) int {
	return w.add(circuit.Element{Shape: circuit.Branch, Nodes: []string{a, b}}, circuit.Params{Y: y})
}

func (w *wiring) solve(t require.TestingT) *circuit.Solution {
	n, err := circuit.New(w.elements, leak)
	require.NoError(t, err)
	s, err := n.Solve(w.params, nil, nil)
	require.NoError(t, err)
	return s
}

func (w *wiring) network(t require.TestingT) *circuit.Network {
	n, err := circuit.New(w.elements, leak)
	require.NoError(t, err)
	return n
}

// impedances span what a unit holds: from a contact to a meter.
func impedance(t *rapid.T, label string) complex128 {
	ohms := math.Pow(10, rapid.Float64Range(-2, 4).Draw(t, label+" log ohms"))
	return complex(ohms, rapid.Float64Range(-0.9, 2).Draw(t, label+" x/r")*ohms)
}

func phasor(t *rapid.T, label string) complex128 {
	return cmplx.Rect(rapid.Float64Range(1, 240).Draw(t, label+" volts"), rapid.Float64Range(0, 6.28).Draw(t, label+" angle"))
}

// random draws a network of a few nodes; some branches are open.
func random(t *rapid.T) *wiring {
	w := &wiring{}
	nodes := []string{circuit.Ground, "s1", "s2"}
	w.source("s1", phasor(t, "s1"))
	w.source("s2", phasor(t, "s2"))
	for i := range rapid.IntRange(2, 8).Draw(t, "free nodes") {
		nodes = append(nodes, fmt.Sprintf("n%d", i))
	}
	node := rapid.SampledFrom(nodes)
	for range rapid.IntRange(2, 14).Draw(t, "branches") {
		y := 1 / impedance(t, "branch")
		if rapid.IntRange(0, 4).Draw(t, "open") == 0 {
			y = 0
		}
		w.branch(node.Draw(t, "from"), node.Draw(t, "to"), y)
	}
	for range rapid.IntRange(0, 2).Draw(t, "transformers") {
		w.add(circuit.Element{Shape: circuit.Transformer, Nodes: []string{node.Draw(t, "p1"), node.Draw(t, "p2"), node.Draw(t, "s1"), node.Draw(t, "s2")}},
			circuit.Params{E: complex(rapid.Float64Range(0.05, 1).Draw(t, "ratio"), 0), Zs: complex(rapid.Float64Range(0.1, 50).Draw(t, "zs"), 0), Ym: complex(0, -1e-3)})
	}
	return w
}

// terminals gives an element's currents into it at each of its nodes, from the
// node voltages by hand: Ohm's law, and the transformer's two equations.
func terminals(w *wiring, e int, v func(string) complex128) []complex128 {
	n, p := w.elements[e].Nodes, w.params[e]
	if w.elements[e].Shape == circuit.Transformer {
		vp, vs := v(n[0])-v(n[1]), v(n[2])-v(n[3])
		out := (p.E*vp - vs) / p.Zs // out of the secondary's first node
		in := p.Ym*vp + p.E*out
		return []complex128{in, -in, -out, out}
	}
	i := (v(n[0]) - v(n[1])) * p.Y
	return []complex128{i, -i}
}

func TestCurrentsSumToZeroAtEveryFreeNode(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := random(t)
		net, s := w.network(t), w.solve(t)
		v := func(name string) complex128 {
			i, ok := net.Node(name)
			require.True(t, ok)
			return s.Voltage(i, 0)
		}
		sum, scale := map[string]complex128{}, 0.0
		for e := range w.elements {
			if w.elements[e].Shape == circuit.Source {
				continue
			}
			into := terminals(w, e, v)
			require.InDelta(t, 0, cmplx.Abs(into[0]-s.Current(e)), 1e-9*(1+cmplx.Abs(into[0])), "the solver's current is Ohm's")
			for k, name := range w.elements[e].Nodes {
				sum[name] += into[k]
				scale = max(scale, cmplx.Abs(into[k]))
			}
		}
		for _, name := range net.Nodes()[1:] {
			if name == "s1" || name == "s2" {
				continue
			}
			require.InDelta(t, 0, cmplx.Abs(sum[name]+v(name)/leak), 1e-7*(1+scale), name)
		}
	})
}

// TestTransferIsReciprocal: volts at one port drive through any linear network the
// same current in the other, shorted, port as the other way round.
func TestTransferIsReciprocal(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := random(t)
		w.branch("s1", "n0", 1/impedance(t, "port 1"))
		w.branch("s2", "n1", 1/impedance(t, "port 2"))
		w.params[0].E, w.params[1].E = 100, 0
		forward := w.through(t, "s2")
		w.params[0].E, w.params[1].E = 0, 100
		backward := w.through(t, "s1")
		require.InDelta(t, 0, cmplx.Abs(forward-backward), 1e-8*(1+cmplx.Abs(forward)))
	})
}

// through is the whole current out of a held node into the network.
func (w *wiring) through(t *rapid.T, node string) complex128 {
	net, s := w.network(t), w.solve(t)
	v := func(name string) complex128 {
		i, _ := net.Node(name)
		return s.Voltage(i, 0)
	}
	var sum complex128
	for e := range w.elements {
		if w.elements[e].Shape == circuit.Source {
			continue
		}
		for k, i := range terminals(w, e, v) {
			if w.elements[e].Nodes[k] == node {
				sum += i
			}
		}
	}
	return sum
}

func TestImpedanceIsTheSameWithTheLeadsSwapped(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := random(t)
		s, n := w.solve(t), len(w.network(t).Nodes())
		a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
		z, back := s.Impedance(a, b), s.Impedance(b, a)
		require.InDelta(t, 0, cmplx.Abs(z-back), 1e-7*(1e-3+cmplx.Abs(z)))
		require.GreaterOrEqual(t, real(z), -1e-6*(1+cmplx.Abs(z)), "a passive network gives no power")
	})
}

// TestMeterReadsAsTheResistorItIs: the reading by Thévenin equals the voltage of
// the network with the meter's resistance wired in, and one divider by hand.
func TestMeterReadsAsTheResistorItIs(t *testing.T) {
	t.Parallel()
	const meter = 1e7
	rapid.Check(t, func(t *rapid.T) {
		w := random(t)
		net := w.network(t)
		n := len(net.Nodes())
		a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
		reads, _ := w.solve(t).Read(a, b, meter)
		names := net.Nodes()
		loaded := &wiring{elements: slices.Clone(w.elements), params: slices.Clone(w.params)}
		loaded.branch(names[a], names[b], 1/complex(meter, 0))
		v := cmplx.Abs(loaded.solve(t).Voltage(a, b))
		require.InDelta(t, v, reads, slack*(1+v/100))
	})
	rapid.Check(t, func(t *rapid.T) {
		r1, r2 := math.Pow(10, rapid.Float64Range(0, 7).Draw(t, "r1")), math.Pow(10, rapid.Float64Range(0, 7).Draw(t, "r2"))
		w := &wiring{}
		w.source("s", 120)
		w.branch("s", "mid", complex(1/r1, 0))
		w.branch("mid", circuit.Ground, complex(1/r2, 0))
		mid, _ := w.network(t).Node("mid")
		reads, source := w.solve(t).Read(mid, 0, meter)
		par := 1 / (1/r2 + 1/meter + 1/leak)
		require.InDelta(t, 120*par/(r1+par), reads, 1e-9*120)
		require.InDelta(t, 1/(1/r1+1/r2+1/leak), real(source), 1e-8*real(source))
	})
}

func TestOrderOfElementsDoesNotMatter(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := random(t)
		order := rapid.Permutation(indices(len(w.elements))).Draw(t, "order")
		mixed := &wiring{}
		for _, e := range order {
			mixed.elements, mixed.params = append(mixed.elements, w.elements[e]), append(mixed.params, w.params[e])
		}
		a, b := w.solve(t), mixed.solve(t)
		na, nb := w.network(t), mixed.network(t)
		for i, name := range na.Nodes() {
			j, ok := nb.Node(name)
			require.True(t, ok)
			v := a.Voltage(i, 0)
			require.InDelta(t, 0, cmplx.Abs(v-b.Voltage(j, 0)), slack*(1+cmplx.Abs(v)/100), name)
		}
		for at, e := range order {
			require.InDelta(t, 0, cmplx.Abs(a.Current(e)-b.Current(at)), 1e-6*(1+cmplx.Abs(a.Current(e))), "a loose end floats, no current does")
		}
	})
}

func indices(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}
