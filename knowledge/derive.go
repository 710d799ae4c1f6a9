package knowledge

import (
	"maps"
	"slices"
	"strings"
)

// derive gives every component what its kind alone says: points to measure it at
// and faults nobody wrote a file for. A netlist line is then all a new part needs.
func (b *Base) derive() {
	claimed := map[string]bool{}
	for _, f := range b.Faults {
		for _, c := range f.claims() {
			claimed[c] = true
		}
	}
	if b.Faults == nil {
		b.Faults = map[string]*Fault{}
	}
	if b.Measurements == nil {
		b.Measurements = map[ReadingID]*Measurement{}
	}
	for _, eq := range slices.Sorted(maps.Keys(b.Equipment)) {
		w := b.Wiring(eq)
		// All points before any fault: a proof may lean on the part before this one.
		var parts []part
		for i := range w.Components {
			c := &w.Components[i]
			for _, mode := range b.unclaimed(c, claimed) {
				b.derivePoints(w, c)
				parts = append(parts, part{c, mode})
			}
		}
		for _, p := range parts {
			b.deriveFault(w, p.c, p.mode)
		}
	}
}

// part is a component in a mode that makes a fault of its own.
type part struct {
	c    *Component
	mode string
}

// unclaimed lists the modes of a component for which its kind has a fault and no
// file does.
func (b *Base) unclaimed(c *Component, claimed map[string]bool) []string {
	kind, ok := b.Kinds[c.Kind]
	if !ok || kind.Element != "branch" || len(c.Nodes) != 2 {
		return nil
	}
	return slices.DeleteFunc(slices.Sorted(maps.Keys(kind.Modes)), func(mode string) bool {
		id := c.ID + "/" + mode
		return kind.Modes[mode].Fault == nil || claimed[id] || b.Faults[id] != nil
	})
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

// outOf, acrossOf and ohmsOf are the probes of the readings derived for a part.
func outOf(w *Wiring, c *Component) Measurement {
	return Measurement{Between: []string{c.Nodes[1], w.Nodes[c.Nodes[1]].Common}}
}

func acrossOf(c *Component) Measurement {
	return Measurement{Between: []string{c.Nodes[0], c.Nodes[1]}}
}

func ohmsOf(c *Component) Measurement {
	return Measurement{Across: []string{c.Nodes[0], c.Nodes[1]}, With: []string{c.ID}}
}

func (b *Base) derivePoints(w *Wiring, c *Component) {
	hazard := b.hazardAt(c.Nodes)
	add := func(id, relation string, m Measurement) {
		if b.Measurements[ReadingID(id)] != nil || b.probing(m) != "" {
			return
		}
		m.Derived, m.Component, m.Relation, m.Place, m.Source = true, c.ID, relation, c.Place, "derived from the netlist"
		m.Needs, m.Instrument = c.Needs, "multimeter"
		b.Measurements[ReadingID(id)] = &m
	}
	if w.Nodes[c.Nodes[1]].Common != "" {
		m := outOf(w, c)
		m.Name, m.Point, m.States, m.Minutes, m.Hazard = "voltage past the "+c.Name, "load side of the "+c.Name, []string{Calling}, 1, hazard
		m.Setting, m.Leads = "AC volts", "one lead on the load side of the "+c.Name+", the other on common"
		add("voltage/"+c.ID+"-out", "out", m)
	}
	m := acrossOf(c)
	m.Name, m.Point, m.States, m.Minutes, m.Hazard = "voltage across the "+c.Name, "the two sides of the "+c.Name, []string{Calling}, 1, hazard
	m.Setting, m.Leads = "AC volts", "one lead on each side of the "+c.Name
	add("voltage/across-"+c.ID, "across", m)
	m = ohmsOf(c)
	m.Name, m.Point, m.States, m.Minutes, m.Hazard = "resistance of the "+c.Name, c.Name, []string{DeEnergised}, 3, "none"
	m.Setting, m.Leads = "ohms, power off", "one lead on each side of the "+c.Name+", one wire lifted"
	add("resistance/"+c.ID, "ohms", m)
}

// hazards of a live reading, rising.
var hazards = []string{"none", "low", "pressure", "line"}

// hazardAt is the worst hazard of the readings already taken at these points.
func (b *Base) hazardAt(nodes []string) string {
	worst := slices.Index(hazards, "low")
	for _, m := range b.Measurements {
		if slices.ContainsFunc(m.Between, func(n string) bool { return slices.Contains(nodes, n) }) {
			worst = max(worst, slices.Index(hazards, m.Hazard))
		}
	}
	return hazards[worst]
}

// probing finds the reading that touches the same points, or "".
func (b *Base) probing(m Measurement) string {
	if m.Between == nil && m.Across == nil {
		return ""
	}
	for _, id := range slices.Sorted(maps.Keys(b.Measurements)) {
		have := b.Measurements[id]
		if slices.Equal(have.Between, m.Between) && slices.Equal(have.Across, m.Across) && slices.Equal(have.With, m.With) {
			return string(id)
		}
	}
	return ""
}

// deriveFault fills a kind's fault text for one component. {name} is the part and
// {id} its id; {in}, {out}, {across} and {ohms} are the readings of what arrives at
// it, what is past it, what stands across it and its resistance; {held} is the
// voltage at the coil that closes it. A way that needs a reading the unit does not
// have is left out, and a step about a coil where there is none.
func (b *Base) deriveFault(w *Wiring, c *Component, mode string) {
	text := b.Kinds[c.Kind].Modes[mode].Fault
	held := ""
	for _, a := range c.Closed {
		if coil, ok := w.Component(a.Energised); ok && len(coil.Nodes) == 2 {
			held = b.probing(acrossOf(coil))
		}
	}
	in := b.probing(Measurement{Between: []string{c.Nodes[0], w.Nodes[c.Nodes[0]].Common}})
	fill := strings.NewReplacer(
		"{name}", c.Name, "{id}", c.ID, "{in}", in, "{out}", b.probing(outOf(w, c)), "{across}", b.probing(acrossOf(c)),
		"{ohms}", b.probing(ohmsOf(c)), "{held}", held,
	).Replace
	f := *text
	f.Name, f.Part, f.Repair = fill(f.Name), fill(f.Part), fill(f.Repair)
	f.Modes, f.Needs, f.Derived, f.Proof = map[string]string{c.ID: mode}, c.Needs, true, nil
	for _, step := range text.Proof {
		if held == "" && step.mentions("{held}") {
			continue
		}
		f.Proof = append(f.Proof, b.filled(step, fill))
	}
	if b.Kinds[c.Kind].Modes[mode].Stuck == "open" {
		f.Proof = append(f.Proof, b.watched(c)...)
	}
	b.Faults[c.ID+"/"+mode] = &f
}

func (s ProofStep) mentions(reading string) bool {
	return slices.ContainsFunc(s.AnyOf, func(w ProofWay) bool {
		return slices.ContainsFunc(w, func(f Finding) bool { return f.Reading == reading })
	})
}

func (b *Base) filled(step ProofStep, fill func(string) string) ProofStep {
	var out ProofStep
	for _, way := range step.AnyOf {
		way = slices.Clone(way)
		usable := true
		for i := range way {
			if way[i].Reading == "" {
				continue
			}
			way[i].Reading = fill(way[i].Reading)
			usable = usable && b.Measurements[ReadingID(way[i].Reading)] != nil
		}
		if usable {
			out.AnyOf = append(out.AnyOf, way)
		}
	}
	return out
}

// watched are the steps that keep a protective switch from being blamed for doing
// its work: each quantity it watches was read where it should be closed.
func (b *Base) watched(c *Component) []ProofStep {
	var out []ProofStep
	for _, a := range c.Trips {
		if a.Process == "" {
			continue
		}
		var step ProofStep
		for _, state := range []string{Standing, Calling} {
			f := Finding{Reading: a.Process, State: state, AtMost: a.AtLeast, AtLeast: a.AtMost}
			if m := b.Measurements[ReadingID(a.Process)]; m != nil && slices.Contains(m.States, state) {
				step.AnyOf = append(step.AnyOf, ProofWay{f})
			}
		}
		out = append(out, step)
	}
	return out
}
