package circuit_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/rules/circuit"
)

// ladder is a series-parallel network: a leaf with an impedance, or parts in
// series or side by side. It is reduced by the rules of the first lesson and never
// by a matrix.
type ladder struct {
	z        complex128
	parts    []*ladder
	parallel bool
}

func drawLadder(t *rapid.T, depth int) *ladder {
	if depth == 0 || rapid.IntRange(0, 3).Draw(t, "leaf") == 0 {
		return &ladder{z: impedance(t, "leaf")}
	}
	l := &ladder{parallel: rapid.Bool().Draw(t, "parallel")}
	for range rapid.IntRange(2, 3).Draw(t, "parts") {
		l.parts = append(l.parts, drawLadder(t, depth-1))
	}
	return l
}

// reduced is the ladder's impedance.
func (l *ladder) reduced() complex128 {
	if l.parts == nil {
		return l.z
	}
	var sum complex128
	for _, p := range l.parts {
		if l.parallel {
			sum += 1 / p.reduced()
		} else {
			sum += p.reduced()
		}
	}
	if l.parallel {
		return 1 / sum
	}
	return sum
}

// wire lays the ladder between two nodes and gives each leaf, by element, the
// current the rules of dividing give it.
func (l *ladder) wire(w *wiring, from, to string, current complex128, want map[int]complex128) {
	switch {
	case l.parts == nil:
		want[w.branch(from, to, 1/l.z)] = current
	case l.parallel:
		z := l.reduced()
		for _, p := range l.parts {
			p.wire(w, from, to, current*z/p.reduced(), want)
		}
	default:
		for i, p := range l.parts {
			next := to
			if i < len(l.parts)-1 {
				next = w.joint()
			}
			p.wire(w, from, next, current, want)
			from = next
		}
	}
}

// TestLadderAgreesWithSeriesAndParallelByHand compares every leaf's current with
// the dumb twin's. The leak is part of the wiring and not of the ladder; it takes
// at most 240 nA a node.
func TestLadderAgreesWithSeriesAndParallelByHand(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		l := drawLadder(t, 4)
		w, want := &wiring{}, map[int]complex128{}
		volts := phasor(t, "supply")
		w.source("supply", volts)
		total := volts / l.reduced()
		l.wire(w, "supply", circuit.Ground, total, want)
		s := w.solve(t)
		lost := 240 / leak * float64(len(w.elements))
		for e, i := range want {
			require.InDelta(t, 0, cmplx.Abs(s.Current(e)-i), 1e-6*cmplx.Abs(total)+lost, w.elements[e].Nodes)
		}
	})
}

// TestMemoryIsBitIdenticalToNone solves a row of settings that share islands, with
// memory and without.
func TestMemoryIsBitIdenticalToNone(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		w := random(t)
		net := w.network(t)
		var memory circuit.Memory
		for range 6 {
			e := rapid.IntRange(0, len(w.elements)-1).Draw(t, "changed")
			if w.elements[e].Shape == circuit.Branch {
				w.params[e].Y = rapid.SampledFrom([]complex128{0, 1, 0.1 + 0.02i}).Draw(t, "y")
			}
			key := func(island int, elements []int) string {
				text := fmt.Sprint(island, w.params[0], w.params[1])
				for _, e := range elements {
					text += fmt.Sprint(" ", w.params[e])
				}
				return text
			}
			plain, err := net.Solve(w.params, nil, nil)
			require.NoError(t, err)
			kept, err := net.Solve(w.params, &memory, key)
			require.NoError(t, err)
			for i := range net.Nodes() {
				require.Equal(t, plain.Voltage(i, 0), kept.Voltage(i, 0))
				require.Equal(t, plain.Impedance(i, 0), kept.Impedance(i, 0))
			}
			for e := range w.elements {
				require.Equal(t, plain.Current(e), kept.Current(e))
			}
		}
	})
}

func TestLayoutRefusesWhatItCannotSolve(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule, says string
		elements   []circuit.Element
	}{
		{"a branch has two nodes", "give it 2", []circuit.Element{{Name: "fuse", Nodes: []string{"a"}}}},
		{"a transformer has four nodes", "give it 4", []circuit.Element{{Name: "transformer", Shape: circuit.Transformer, Nodes: []string{"a", "b"}}}},
		{"a source hangs on ground", "hang it on", []circuit.Element{{Name: "leg", Shape: circuit.Source, Nodes: []string{"a", "b"}}}},
		{"a node is held once", "its own node", []circuit.Element{
			{Name: "leg", Shape: circuit.Source, Nodes: []string{circuit.Ground, "a"}}, {Name: "other leg", Shape: circuit.Source, Nodes: []string{circuit.Ground, "a"}},
		}},
	} {
		t.Run(c.rule, func(t *testing.T) {
			t.Parallel()
			_, err := circuit.New(c.elements, leak)
			require.ErrorContains(t, err, c.elements[len(c.elements)-1].Name)
			require.ErrorContains(t, err, c.says)
		})
	}
}

func TestAdmittanceOfSeriesAndCapacitor(t *testing.T) {
	t.Parallel()
	nan, open := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		rule               string
		ohms, reactance, f float64
		want               complex128
	}{
		{"a resistor", 50, 0, 0, 0.02},
		{"a coil", 3, 4, 0, 0.12 - 0.16i},
		{"an open part carries nothing", open, 0, 0, 0},
		{"a capacitor alone: 45 uF is 17 mS at 60 Hz", nan, 0, 45, complex(0, 0.016964600329)},
		{"a broken winding beside a capacitor is the capacitor", open, 0, 45, complex(0, 0.016964600329)},
		{"a shorted capacitor", 0.3, 0, 45, complex(1/0.3, 0.016964600329)},
		{"a perfect wire has a microohm", 0, 0, 0, 1e6},
	} {
		t.Run(c.rule, func(t *testing.T) {
			t.Parallel()
			require.InDelta(t, 0, cmplx.Abs(circuit.Admittance(c.ohms, c.reactance, c.f)-c.want), 1e-9)
		})
	}
}

// TestTransformerByHand: 240 V, ratio 0.1, 1.5 ohm behind it, 24 ohm on it.
func TestTransformerByHand(t *testing.T) {
	t.Parallel()
	w := &wiring{}
	w.source("l1", 120)
	w.source("l2", -120)
	primary := w.add(circuit.Element{Shape: circuit.Transformer, Nodes: []string{"l1", "l2", "r", circuit.Ground}}, circuit.Params{E: 0.1, Zs: 1.5, Ym: -0.0005i})
	load := w.branch("r", circuit.Ground, complex(1/24.0, 0))
	s := w.solve(t)
	amps := 24.0 / 25.5
	require.InDelta(t, amps, real(s.Current(load)), 1e-6)
	require.InDelta(t, 0.1*amps, real(s.Current(primary)), 1e-6)
	require.InDelta(t, -0.12, imag(s.Current(primary)), 1e-9, "the magnetising current lags")
	r, _ := w.network(t).Node("r")
	require.InDelta(t, 1/(1/1.5+1/24.0), real(s.Impedance(r, 0)), 1e-6)
}
