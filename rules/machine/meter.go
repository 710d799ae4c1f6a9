package machine

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"proveout/knowledge"
	"proveout/rules/circuit"
)

// Prediction is what an instrument shows.
type Prediction struct {
	// Value in the quantity's unit; infinite for an open circuit.
	Value float64
	// Spread is the process's own spread, in the unit; 0 for a circuit reading.
	Spread float64
	// Phantom is set when the meter looks into so high an impedance that it may
	// show a stray voltage instead: up to this many volts.
	Phantom float64
}

// Meter is one measurement laid out on one machine.
type Meter struct {
	m        *Machine
	read     func(*Phase) Prediction
	variable int // of a process reading, else -1
}

// Read takes the measurement on a settled phase.
func (x *Meter) Read(p *Phase) Prediction { return x.read(p) }

// Meter lays a measurement out on the machine. It returns nil when the unit has
// no such point (a part that is not fitted), and an error when the knowledge
// names a node or component that does not exist.
func (m *Machine) Meter(id knowledge.ReadingID, k *knowledge.Measurement) (*Meter, error) {
	if !m.Fits(k.Needs) || k.Reported {
		return nil, nil
	}
	if _, ours := m.index[k.Component]; k.Derived && !ours {
		return nil, nil // a point of a part that only another equipment has
	}
	x := &Meter{m: m, variable: -1}
	var err error
	switch {
	case k.Between != nil:
		err = x.volts(k)
	case k.Through != nil:
		err = x.amps(k)
	case k.Across != nil:
		err = x.ohms(k)
	case k.CapacityOf != "":
		err = x.capacity(k.CapacityOf)
	case k.Process:
		v, ok := m.varOf[string(id)]
		if !ok {
			return nil, nil
		}
		x.variable = v
		x.read = func(p *Phase) Prediction { return Prediction{Value: p.process[v].Value, Spread: p.process[v].Spread} }
	default:
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("laying out %s: %w", id, err)
	}
	return x, nil
}

// nodes finds the pair a measurement touches; a fault in the knowledge if one is
// on no component.
func (m *Machine) nodes(names []string) (a, b int, err error) {
	if len(names) != 2 {
		return 0, 0, fmt.Errorf("it takes two nodes, not %v", names)
	}
	a, oka := m.net.Node(names[0])
	b, okb := m.net.Node(names[1])
	if !oka || !okb {
		return 0, 0, fmt.Errorf("no component touches a node of %v", names)
	}
	return a, b, nil
}

func (x *Meter) volts(k *knowledge.Measurement) error {
	m := x.m
	a, b, err := m.nodes(k.Between)
	if err != nil {
		return err
	}
	above := m.figure(knowledge.Figure{Name: "phantom-above", Times: 1})
	neighbour := m.figure(knowledge.Figure{Name: "phantom-control", Times: 1})
	if k.Hazard == "line" {
		neighbour = m.figure(knowledge.Figure{Name: "phantom-line", Times: 1})
	}
	x.read = func(p *Phase) Prediction {
		v, source := p.sol.Read(a, b, m.meter)
		out := Prediction{Value: v}
		if cmplx.Abs(source) > above && p.state != knowledge.DeEnergised {
			out.Phantom = neighbour
		}
		return out
	}
	return nil
}

func (x *Meter) amps(k *knowledge.Measurement) error {
	var elements []int
	for _, id := range k.Through {
		i, ok := x.m.index[id]
		if !ok || x.m.parts[i].element < 0 {
			return fmt.Errorf("no component %q carries a current", id)
		}
		elements = append(elements, x.m.parts[i].element)
	}
	x.read = func(p *Phase) Prediction {
		var i complex128
		for _, e := range elements {
			i += p.sol.Current(e)
		}
		return Prediction{Value: cmplx.Abs(i)}
	}
	return nil
}

func (x *Meter) capacity(id string) error {
	i, ok := x.m.index[id]
	if !ok {
		return fmt.Errorf("no component %q", id)
	}
	part := &x.m.parts[i]
	x.read = func(p *Phase) Prediction {
		f := part.figuresIn(p.mode[i], false)
		if _, shorted := f["ohms"]; shorted {
			return Prediction{}
		}
		return Prediction{Value: f["uf"]}
	}
	return nil
}

// leads is a part's winding or body as an ohmmeter finds it.
type leads struct {
	part int
	ohms string // the figure's name
}

// ohms lays out the components that stay connected as a network of their own.
func (x *Meter) ohms(k *knowledge.Measurement) error {
	m := x.m
	var elements []circuit.Element
	var bodies []leads
	for _, id := range k.With {
		i, ok := m.index[id]
		if !ok {
			return fmt.Errorf("no component %q", id)
		}
		c := &m.parts[i]
		if c.kind.Element == "transformer" {
			elements = append(elements, circuit.Element{Name: id, Nodes: c.Nodes[:2]}, circuit.Element{Name: id, Nodes: c.Nodes[2:]})
			bodies = append(bodies, leads{i, "primary-ohms"}, leads{i, "secondary-ohms"})
			continue
		}
		elements = append(elements, circuit.Element{Name: id, Nodes: c.Nodes})
		bodies = append(bodies, leads{i, "ohms"})
	}
	net, err := circuit.New(elements, 1e12)
	if err != nil {
		return err
	}
	if len(k.Across) != 2 {
		return fmt.Errorf("across takes two nodes, not %v", k.Across)
	}
	across := k.Across
	if len(k.With) == 1 && len(elements) == 1 && len(elements[0].Nodes) == 2 {
		across = elements[0].Nodes // a part by itself is read at its ends, wherever this unit wires them
	}
	a, oka := net.Node(across[0])
	b, okb := net.Node(across[1])
	if !oka || !okb {
		return fmt.Errorf("none of %v touches a node of %v", k.With, k.Across)
	}
	open := m.figure(knowledge.Figure{Name: "open-circuit-above", Times: 1})
	memory := map[string]float64{}
	x.read = func(p *Phase) Prediction {
		params := make([]circuit.Params, len(bodies))
		key := make([]byte, 0, 2*len(bodies))
		for i, l := range bodies {
			shut := p.conducts(l.part)
			key = append(key, byte(p.mode[l.part]), bit(shut))
			if shut {
				params[i].Y = circuit.Admittance(m.parts[l.part].bodyOhms(l.ohms, p.mode[l.part]), 0, 0)
			}
		}
		r, ok := memory[string(key)]
		if !ok {
			r = resistance(net, params, a, b)
			memory[string(key)] = r
		}
		if r >= open {
			r = math.Inf(1)
		}
		return Prediction{Value: r}
	}
	return nil
}

func (p *part) bodyOhms(name string, mode int) float64 {
	if p.plain {
		return 0.01
	}
	if v, ok := p.figuresIn(mode, false)[name]; ok {
		return v
	}
	return math.Inf(1)
}

func resistance(net *circuit.Network, params []circuit.Params, a, b int) float64 {
	sol, err := net.Solve(params, nil, nil)
	if err != nil {
		return math.Inf(1)
	}
	return real(sol.Impedance(a, b))
}

// State is the machine's state in this phase.
func (p *Phase) State() string { return p.state }

// On says whether a coil is pulled in or a rotor turns.
func (p *Phase) On(id string) bool {
	i, ok := p.m.index[id]
	return ok && p.on[i]
}

// Conducts says whether a branch component is closed.
func (p *Phase) Conducts(id string) bool {
	i, ok := p.m.index[id]
	return ok && p.shut[i]
}

// Voltage is the phasor between two nodes by name, volts rms, with no meter in
// the way.
func (p *Phase) Voltage(a, b string) complex128 {
	x, _ := p.m.net.Node(a)
	y, _ := p.m.net.Node(b)
	return p.sol.Voltage(x, y)
}

// Current is the phasor into a component at its first node, amps rms.
func (p *Phase) Current(id string) complex128 {
	i, ok := p.m.index[id]
	if !ok || p.m.parts[i].element < 0 {
		return 0
	}
	return p.sol.Current(p.m.parts[i].element)
}

// SameMoves says whether two phases of one machine have the same parts open,
// pulled in, turning and tripped.
func (p *Phase) SameMoves(q *Phase) bool {
	return slices.Equal(p.shut, q.shut) && slices.Equal(p.on, q.on) && slices.Equal(p.tripped, q.tripped)
}
