package knowledge

import (
	"maps"
	"slices"
	"strings"
)

// Wiring is an equipment's circuits put together, with its own overrides.
type Wiring struct {
	Nodes      map[string]Node
	Components []Component
}

// Component finds a component by id.
func (w *Wiring) Component(id string) (*Component, bool) {
	for i := range w.Components {
		if w.Components[i].ID == id {
			return &w.Components[i], true
		}
	}
	return nil, false
}

// Lineage lists the equipment from its oldest ancestor to itself.
func (b *Base) Lineage(id string) []*Equipment {
	var line []*Equipment
	for seen := map[string]bool{}; id != "" && !seen[id]; {
		seen[id] = true
		e, ok := b.Equipment[id]
		if !ok {
			break
		}
		line = append(line, e)
		id = e.Extends
	}
	slices.Reverse(line)
	return line
}

// Wiring puts together the circuits of an equipment and of those it extends. A
// component given again by an equipment replaces, field by field, the one of the
// same id.
func (b *Base) Wiring(id string) *Wiring {
	w := &Wiring{Nodes: map[string]Node{}}
	for _, e := range b.Lineage(id) {
		for _, c := range e.Circuits {
			circuit, ok := b.Circuits[c]
			if !ok {
				continue
			}
			maps.Copy(w.Nodes, circuit.Nodes)
			w.Components = append(w.Components, circuit.Components...)
		}
		for name, n := range e.Nodes {
			w.Nodes[name] = w.Nodes[name].overlaid(n)
		}
		for _, c := range e.Components {
			if old, ok := w.Component(c.ID); ok {
				*old = old.overlaid(c)
				continue
			}
			w.Components = append(w.Components, c)
		}
	}
	return w
}

func (n Node) overlaid(by Node) Node {
	pick(&n.Terminal, by.Terminal)
	pick(&n.Colour, by.Colour)
	pick(&n.Place, by.Place)
	pick(&n.Name, by.Name)
	pick(&n.Common, by.Common)
	return n
}

func (c Component) overlaid(by Component) Component {
	pick(&c.Kind, by.Kind)
	pick(&c.Name, by.Name)
	pick(&c.Rotor, by.Rotor)
	pick(&c.Reset, by.Reset)
	pick(&c.Place, by.Place)
	pick(&c.Source, by.Source)
	if by.Nodes != nil {
		c.Nodes = by.Nodes
	}
	c.Values = merged(c.Values, by.Values)
	c.Running = merged(c.Running, by.Running)
	for _, f := range []struct{ to, from *Condition }{{&c.Closed, &by.Closed}, {&c.Trips, &by.Trips}, {&c.Starts, &by.Starts}, {&c.Keeps, &by.Keeps}} {
		if *f.from != nil {
			*f.to = *f.from
		}
	}
	if by.PullIn != 0 {
		c.PullIn = by.PullIn
	}
	if by.DropOut != 0 {
		c.DropOut = by.DropOut
	}
	c.Slow = c.Slow || by.Slow
	if by.Needs != nil {
		c.Needs = by.Needs
	}
	return c
}

func pick(to *string, from string) {
	if from != "" {
		*to = from
	}
}

func merged(a, b Values) Values {
	if len(b) == 0 {
		return a
	}
	out := maps.Clone(a)
	if out == nil {
		out = Values{}
	}
	maps.Copy(out, b)
	return out
}

// claims lists the component/mode pairs a fault's modes and variants set.
func (f *Fault) claims() []string {
	var out []string
	for c, m := range f.Modes {
		out = append(out, c+"/"+m)
	}
	for _, v := range f.Variants {
		for c, m := range v.Modes {
			out = append(out, c+"/"+m)
		}
	}
	return out
}

// derive gives every component what its kind alone says: points to measure it at
// and faults nobody wrote a file for. A netlist line is then all a new part needs.
func (b *Base) derive() {
	claimed := map[string]bool{}
	for _, f := range b.Faults {
		for _, c := range f.claims() {
			claimed[c] = true
		}
	}
	for _, eq := range slices.Sorted(maps.Keys(b.Equipment)) {
		w := b.Wiring(eq)
		for i := range w.Components {
			c := &w.Components[i]
			kind, ok := b.Kinds[c.Kind]
			if !ok || kind.Element != "branch" || len(c.Nodes) != 2 {
				continue
			}
			for _, mode := range slices.Sorted(maps.Keys(kind.Modes)) {
				id := c.ID + "/" + mode
				if kind.Modes[mode].Fault == nil || claimed[id] || b.Faults[id] != nil {
					continue
				}
				b.derivePoints(w, c)
				b.deriveFault(w, c, mode, kind.Modes[mode].Fault)
			}
		}
	}
}

func (b *Base) derivePoints(w *Wiring, c *Component) {
	out := w.Nodes[c.Nodes[1]]
	add := func(id ReadingID, relation string, m Measurement) {
		if b.Measurements[id] != nil || b.probes(m) {
			return
		}
		m.Derived, m.Component, m.Relation, m.Place, m.Source = true, c.ID, relation, c.Place, "derived from the netlist"
		if b.Measurements == nil {
			b.Measurements = map[ReadingID]*Measurement{}
		}
		m.Needs = c.Needs
		b.Measurements[id] = &m
	}
	if out.Common != "" {
		add(ReadingID("voltage/"+c.ID+"-out"), "out", Measurement{
			Name: "voltage past the " + c.Name, Point: "load side of the " + c.Name,
			Between: []string{c.Nodes[1], out.Common}, States: []string{Calling}, Minutes: 1, Hazard: "low",
			Instrument: "multimeter", Setting: "AC volts", Leads: "one lead on the load side of the " + c.Name + ", the other on common",
		})
	}
	add(ReadingID("voltage/across-"+c.ID), "across", Measurement{
		Name: "voltage across the " + c.Name, Point: "the two sides of the " + c.Name,
		Between: []string{c.Nodes[0], c.Nodes[1]}, States: []string{Calling}, Minutes: 1, Hazard: "low",
		Instrument: "multimeter", Setting: "AC volts", Leads: "one lead on each side of the " + c.Name,
	})
	add(ReadingID("resistance/"+c.ID), "ohms", Measurement{
		Name: "resistance of the " + c.Name, Point: c.Name,
		Across: []string{c.Nodes[0], c.Nodes[1]}, With: []string{c.ID}, States: []string{DeEnergised}, Minutes: 3, Hazard: "none",
		Instrument: "multimeter", Setting: "ohms, power off", Leads: "one lead on each side of the " + c.Name + ", one wire lifted",
	})
}

// probes reports whether a measurement of the same probe exists already.
func (b *Base) probes(m Measurement) bool {
	for _, have := range b.Measurements {
		if slices.Equal(have.Between, m.Between) && slices.Equal(have.Across, m.Across) && slices.Equal(have.With, m.With) && (m.Between != nil || m.Across != nil) {
			return true
		}
	}
	return false
}

// deriveFault fills a kind's fault text for one component: {name} is the part,
// {id} its id, {in} the reading that shows what arrives at it.
func (b *Base) deriveFault(w *Wiring, c *Component, mode string, text *Fault) {
	f := *text
	in := ""
	for _, id := range slices.Sorted(maps.Keys(b.Measurements)) {
		m := b.Measurements[id]
		if len(m.Between) == 2 && m.Between[0] == c.Nodes[0] && m.Between[1] == w.Nodes[c.Nodes[0]].Common {
			in = string(id)
			break
		}
	}
	fill := strings.NewReplacer("{name}", c.Name, "{id}", c.ID, "{in}", in).Replace
	f.Name, f.Part, f.Repair = fill(f.Name), fill(f.Part), fill(f.Repair)
	f.Modes = map[string]string{c.ID: mode}
	f.Needs = c.Needs
	f.Proof = nil
	for _, step := range text.Proof {
		var ways []ProofWay
		for _, way := range step.AnyOf {
			out := slices.Clone(way)
			usable := true
			for i := range out {
				out[i].Reading = fill(out[i].Reading)
				usable = usable && b.Measurements[ReadingID(out[i].Reading)] != nil
			}
			if usable {
				ways = append(ways, out)
			}
		}
		f.Proof = append(f.Proof, ProofStep{AnyOf: ways})
	}
	f.Derived = true
	if b.Faults == nil {
		b.Faults = map[string]*Fault{}
	}
	b.Faults[c.ID+"/"+mode] = &f
}
