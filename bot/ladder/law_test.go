package ladder

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
)

// crosses says whether a wire goes through an area, more than along its edge.
func crosses(w strand, a area) bool {
	const touch = 1e-6
	return w.area().grown(touch / 2).overlaps(a.grown(-touch))
}

// nets gives each piece of wire the number of what it is connected with: an end on
// another piece connects, a crossing does only where there is a dot.
func nets(s *sheet) []int {
	net := make([]int, len(s.wires))
	for i := range net {
		net[i] = i
	}
	join := func(a, b int) {
		from, to := net[a], net[b]
		for i := range net {
			if net[i] == from {
				net[i] = to
			}
		}
	}
	for i := range s.wires {
		for j := range i {
			a, b := s.wires[i], s.wires[j]
			for _, at := range []spot{a.a, a.b, b.a, b.b} {
				if on(a, at) && on(b, at) {
					join(i, j)
				}
			}
		}
	}
	for _, dot := range s.dots {
		first := -1
		for i, w := range s.wires {
			if on(w, dot) {
				if first >= 0 {
					join(i, first)
				}
				first = i
			}
		}
	}
	return net
}

func on(w strand, at spot) bool {
	a := w.area()
	return at.x >= a.x0 && at.x <= a.x1 && at.y >= a.y0 && at.y <= a.y1
}

// lawful puts a sheet to the laws of the package.
func lawful(t require.TestingT, n *netlist, s *sheet, least float64) {
	page := area{0, 0, s.w, s.h}
	var boxes []area
	for i := range s.symbols {
		boxes = append(boxes, s.symbols[i].box)
	}
	for _, e := range s.earths {
		boxes = append(boxes, e.box)
	}
	for _, l := range s.labels {
		boxes = append(boxes, l.box)
		require.GreaterOrEqual(t, l.box.height(), least, "%q is too small to read", l.text)
	}
	for i, a := range boxes {
		require.False(t, a.x0 < page.x0 || a.y0 < page.y0 || a.x1 > page.x1 || a.y1 > page.y1, "%v lies outside the page", a)
		for _, b := range boxes[:i] {
			require.False(t, a.overlaps(b), "%v lies over %v", a, b)
		}
		for _, w := range s.wires {
			require.False(t, crosses(w, a), "a wire of %s crosses %v", w.node, a)
		}
	}
	for _, l := range s.leads {
		for i := 1; i < len(l.path); i++ {
			piece := strand{node: "lead", a: l.path[i-1], b: l.path[i]}
			for _, f := range s.symbols {
				require.False(t, crosses(piece, f.box), "a lead crosses %s", f.part.id)
			}
			for _, b := range s.labels {
				require.False(t, b.class != classMeter && crosses(piece, b.box), "a lead crosses %q", b.text)
			}
		}
	}
	wiredAlike(t, n, s)
}

// wiredAlike rebuilds the netlist from where things lie and compares.
func wiredAlike(t require.TestingT, n *netlist, s *sheet) {
	net := nets(s)
	at := func(p spot) int {
		for i, w := range s.wires {
			if w.a == p || w.b == p {
				return net[i]
			}
		}
		return -1
	}
	known := map[string]int{} // what node is which net
	grounds := map[int]string{}
	for _, e := range s.earths {
		grounds[at(e.at)] = e.node
	}
	drawn := map[string]int{}
	back := map[int]string{}
	meet := func(node string, p spot, who string) {
		i := at(p)
		require.GreaterOrEqual(t, i, 0, "nothing is wired to an end of %s", who)
		if g, ok := grounds[i]; ok {
			require.Equal(t, node, g, "%s is grounded", who)
			return
		}
		if have, ok := known[node]; ok {
			require.Equal(t, have, i, "%s is not connected to the rest of %s", who, node)
		}
		if have, ok := back[i]; ok {
			require.Equal(t, have, node, "%s shorts %s to %s", who, node, have)
		}
		known[node], back[i] = i, node
	}
	for i := range s.symbols {
		f := &s.symbols[i]
		id := fmt.Sprint(f.part.id, f.winding)
		drawn[id]++
		nodes := f.part.nodes
		switch f.winding {
		case primary:
			nodes = nodes[:2]
		case secondary:
			nodes = nodes[2:]
		default:
		}
		ends := slices.Clone(f.ends)
		if f.flip {
			ends[0], ends[1] = ends[1], ends[0]
		}
		require.Len(t, ends, len(nodes))
		for i := range nodes {
			meet(nodes[i], ends[i], f.part.id)
		}
	}
	for _, l := range s.labels {
		if l.part != "" {
			drawn[fmt.Sprint(l.part, whole)]++
		}
	}
	for _, p := range n.parts {
		want := []string{fmt.Sprint(p.id, whole)}
		if p.symbol == transformer && drawn[want[0]] == 0 {
			want = []string{fmt.Sprint(p.id, primary), fmt.Sprint(p.id, secondary)}
		}
		for _, id := range want {
			require.Equal(t, 1, drawn[id], "%s is drawn", id)
			delete(drawn, id)
		}
	}
	require.Empty(t, drawn)
}

func embedded(t require.TestingT) *knowledge.Base {
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	return base
}

func TestEveryUnitIsDrawnAsItIsWired(t *testing.T) {
	t.Parallel()
	base := embedded(t)
	for id := range base.Equipment {
		d, err := Draw(base, id, Marking{})
		require.NoError(t, err)
		for limit := 1; limit < 14; limit++ {
			lawful(t, d.net, d.sheet(picture(), limit), 11)
			lawful(t, d.net, d.sheet(terminal(), limit), 1)
		}
	}
}

// anyNetlist draws wiring nobody would build: the laws hold for it all the same.
func anyNetlist(t *rapid.T) *netlist {
	n := &netlist{title: "unit", nodes: map[string]knowledge.Node{}}
	count := rapid.IntRange(2, 14).Draw(t, "nodes")
	name := func(i int) string { return fmt.Sprintf("n%d", i) }
	for i := range count {
		n.nodes[name(i)] = knowledge.Node{
			Terminal: rapid.SampledFrom([]string{"", "", "R", "T1"}).Draw(t, "terminal"),
			Colour:   rapid.SampledFrom([]string{"", "red", "yellow"}).Draw(t, "colour"),
		}
	}
	if rapid.Bool().Draw(t, "earthed") {
		n.earth = name(0)
	}
	symbols := []symbol{box, wire, leak, fuse, contact, contactNC, thermostat, pressure, coil, coiled, capacitor, source}
	for i := range rapid.IntRange(1, 30).Draw(t, "parts") {
		a := rapid.IntRange(0, count-1).Draw(t, "a")
		b := rapid.IntRange(0, count-1).Draw(t, "b")
		p := &part{id: fmt.Sprintf("p%d", i), symbol: rapid.SampledFrom(symbols).Draw(t, "symbol"), nodes: []string{name(a), name(b)}}
		p.name = strings.TrimSpace(strings.Repeat("part ", rapid.IntRange(1, 6).Draw(t, "words")))
		switch rapid.IntRange(0, 11).Draw(t, "kind") {
		case 0:
			p.symbol, p.nodes = motor, nil
		case 1:
			p.symbol = transformer
			p.nodes = append(p.nodes, name(rapid.IntRange(0, count-1).Draw(t, "c")), name(rapid.IntRange(0, count-1).Draw(t, "d")))
		case 2:
			p.symbol, p.rotor = coiled, "p0"
		}
		n.parts = append(n.parts, p)
	}
	return n
}

func TestAnyNetlistIsDrawnAsItIsWired(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		for range 2 { // two hundred in all
			n := anyNetlist(t)
			d := Drawing{net: n, marking: anyMarking(t, n)}
			limit := rapid.IntRange(1, 12).Draw(t, "limit")
			lawful(t, n, d.sheet(picture(), limit), 11)
			lawful(t, n, d.sheet(terminal(), limit), 1)
		}
	})
}

func anyMarking(t *rapid.T, n *netlist) Marking {
	m := Marking{Good: map[string]bool{}, Open: map[string]bool{}, Absent: map[string]bool{}, Suspects: map[string]float64{}}
	for _, p := range n.parts {
		switch rapid.IntRange(0, 8).Draw(t, "mark") {
		case 0:
			m.Good[p.id] = true
		case 1:
			m.Open[p.id] = true
		case 2:
			m.Absent[p.id] = true
		case 3:
			m.Suspects[p.id] = math.Abs(rapid.Float64Range(0, 1).Draw(t, "p"))
		case 4:
			m.Values = append(m.Values, Value{Component: p.id, Text: "240 V"})
		}
	}
	if len(n.parts[0].nodes) > 1 {
		m.Meter = &Meter{Name: "AC volts", Red: n.parts[0].nodes[0], Black: n.parts[0].nodes[1]}
	}
	return m
}

// Every reading taken in the circuit shows where it is taken.
func TestEveryElectricalReadingHasItsMeterInThePicture(t *testing.T) {
	t.Parallel()
	base := embedded(t)
	for equipment := range base.Equipment {
		shown := 0
		for id, m := range base.Measurements {
			meter := MeterFor(base, equipment, id)
			if meter == nil {
				continue
			}
			shown++
			v, ok := ValueOf(base, equipment, id, "24 V")
			require.True(t, ok, id)
			d, err := Draw(base, equipment, Marking{Meter: meter, Values: []Value{v}})
			require.NoError(t, err)
			s := d.sheet(picture(), rung)
			require.NotNil(t, s.meter, id)
			ends := 2
			if len(m.Through) > 0 {
				ends = len(m.Through)
			}
			require.Len(t, s.leads, ends, id)
			lawful(t, d.net, s, 11)
			require.Contains(t, d.Text(), v.Text)
		}
		require.Greater(t, shown, 20)
	}
}
