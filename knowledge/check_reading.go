package knowledge

import (
	"maps"
	"slices"
)

// places are where a technician stands; a slip in one of them costs a walk.
var places = []string{"indoor", "outdoor", "thermostat", "panel"}

// place allows any, but not what is a slip of one of the usual.
func (s spot) place(p string) {
	if p == "" || slices.Contains(places, p) {
		return
	}
	if near := nearest(p, places); near != "" {
		s.oneOf("place", p, places...)
	}
}

func (c *checker) quantity(s spot, _ string, q *Quantity) {
	s.source(q.Source)
	s.text(q.Name, "name", "name it as a sentence would: `name: voltage`")
	s.text(q.Unit, "unit", "write the unit readings are kept in")
	s.text(q.Shown, "shown", "write the unit as a person reads it")
	if q.Possible[0] >= q.Possible[1] {
		s.in("possible").fail("write the lowest, then the highest value that can be", "%v is no span", q.Possible)
	}
	if q.Percent < 0 || q.Counts < 0 || q.Decimals < 0 {
		s.fail("write them as numbers of zero or more", "percent, counts or decimals is below zero")
	}
	if len(q.Units) == 0 {
		s.fail("list under units: how the unit is said", "no word for its unit is known")
	}
	for i, u := range q.Units {
		at := s.in("units", i)
		at.text(u.Name, "name", "write the unit's sign")
		if u.Factor == 0 {
			at.fail("give `factor:`, 1 for the unit readings are kept in", "the unit has no factor")
		}
		if len(u.Words) == 0 {
			at.fail("list under words: how it is said", "the unit has no words")
		}
	}
}

func (c *checker) measurement(s spot, id string, m *Measurement) {
	if q := ReadingID(id).Quantity(); !c.lost["quantities"] && c.b.Quantities[q] == nil {
		s.fail(suggest(q, c.ids["quantities"], "add it under quantities/"), "no quantity is called %q", q)
	}
	s.source(m.Source)
	s.text(m.Name, "name", "name it as a sentence would: `name: voltage across the contactor coil`")
	s.text(m.Point, "point", "name the place as it stands after \"at\"")
	s.text(m.Setting, "setting", "say how the instrument is set")
	s.text(m.Leads, "leads", "say where each lead goes")
	s.in("needs").needs(m.Needs)
	s.in("cautions").refs("cautions", m.Cautions)
	s.in("place").place(m.Place)
	for i, f := range m.Alternatives {
		if f <= 0 {
			s.in("alternatives", i).fail("write what the value is multiplied with", "%g is no factor", f)
		}
	}
	c.probe(s, id, m)
	c.asked(s, m)
	if m.From != nil {
		s.in("from").sum(id, m.From)
	}
}

// sum checks what the engine makes a reading of when others are given.
func (s spot) sum(id string, x *Sum) {
	s.in("by").oneOf("sum", x.By, "superheat", "subcooling", "difference")
	s.in("of").refs("measurements", x.Of)
	if len(x.Of) != 2 || x.Of[0] == x.Of[1] || slices.Contains(x.Of, id) {
		s.in("of").fail("name the two readings it is made of", "%s is not made of %v", id, x.Of)
	}
}

// probe checks what the engine computes of a reading.
func (c *checker) probe(s spot, id string, m *Measurement) {
	n := 0
	for _, set := range []bool{m.Between != nil, m.Through != nil, m.Across != nil, m.CapacityOf != "", m.Process, m.Reported} {
		if set {
			n++
		}
	}
	if n != 1 {
		s.fail("give it exactly one of between, through, across, capacity-of, process and reported", "%d things say what is read", n)
	}
	if m.Between != nil {
		s.in("between").pair(c.all, m.Between)
	}
	if m.Across != nil {
		s.in("across").pair(c.all, m.Across)
		if len(m.With) == 0 {
			s.fail("list under with: what stays connected", "an ohmmeter across nothing reads nothing")
		}
	}
	s.in("through").components(c.all, m.Through)
	s.in("with").components(c.all, m.With)
	if m.CapacityOf != "" {
		s.in("capacity-of").component(c.all, m.CapacityOf)
	}
	if m.Process {
		s.processID(c.all, id)
	}
	if at := c.leadOff(m); at != "" {
		s.in("with").fail("name a component that ends there", "none of with touches %s", at)
	}
}

// leadOff finds a node of an ohms reading that none of its components touches.
func (c *checker) leadOff(m *Measurement) string {
	if c.lostWiring() || len(m.With) == 0 {
		return ""
	}
	touched := map[string]bool{}
	for _, id := range m.With {
		if c.all.components[id] == nil {
			return ""
		}
		maps.Copy(touched, c.all.ends[id])
	}
	for _, n := range m.Across {
		if !touched[n] && c.all.nodes[n] {
			return n
		}
	}
	return ""
}

func (s spot) components(sc *scope, ids []string) {
	for i, id := range ids {
		s.in(i).component(sc, id)
	}
}

// asked checks what must be there for a reading to be asked for, and is well-formed
// where it need not be.
func (c *checker) asked(s spot, m *Measurement) {
	for i, st := range m.States {
		s.in("states", i).oneOf("state", st, States...)
	}
	if m.Hazard != "" || !m.Reported {
		s.in("hazard").oneOf("hazard", m.Hazard, "none", "low", "line", "pressure")
	}
	if m.Reported {
		return
	}
	if len(m.States) == 0 {
		s.fail("list under states: those it may be read in, best first", "nothing says in which state of the machine it is read")
	}
	if m.Minutes <= 0 {
		s.in("minutes").fail("say how long it takes, in minutes", "it takes no time")
	}
	s.text(m.Place, "place", "say where it is read: indoor, outdoor, thermostat or panel")
	s.text(m.Instrument, "instrument", "name the instrument")
	if tools := c.tools(); m.Instrument != "" && len(tools) > 0 {
		s.in("instrument").oneOf("instrument", m.Instrument, tools...)
	}
	if live := m.Across == nil && m.CapacityOf == ""; !live && slices.Contains(m.States, Calling) {
		s.in("states").fail("ohms and microfarads are read de-energised", "it would be read under power")
	}
}

// tools lists the instruments people have words for: one nobody can say he lacks
// would be asked for for ever.
func (c *checker) tools() []string {
	all := map[string]bool{}
	for _, p := range c.b.Lexicon.Parts {
		for t := range p.Tools {
			all[t] = true
		}
	}
	return keysOf(all)
}

func (c *checker) observation(s spot, _ string, o *Observation) {
	s.source(o.Source)
	s.text(o.Ask, "ask", "write the question")
	states := keysOf(o.States)
	if len(states) < 2 {
		s.fail("list under states: at least two, and how each is said", "there is nothing to tell apart")
	}
	for _, st := range states {
		s.in("states", st).text(o.States[st], "words", "say the state in a sentence")
	}
	if order := slices.Sorted(slices.Values(o.Order)); !slices.Equal(order, states) {
		s.in("order").fail("list each state once, most telling first", "the order %v is not that of the states %v", o.Order, states)
	}
	for _, x := range []struct{ key, state string }{{"yes", o.Yes}, {"no", o.No}} {
		s.in(x.key).oneOf("answer to "+x.key, x.state, states...)
	}
	if o.Yes == o.No {
		s.in("no").fail("give each answer its own", "yes and no mean the same")
	}
	for i, st := range o.Beside {
		s.in("beside", i).oneOf("state", st, states...)
	}
	s.in("in").oneOf("state", o.In, States...)
	for i, st := range o.Also {
		s.in("also", i).oneOf("state", st, States...)
	}
	if o.Minutes <= 0 {
		s.in("minutes").fail("say how long it takes, in minutes", "it takes no time")
	}
	s.in("hazard").oneOf("hazard", o.Hazard, "none", "low", "line", "pressure")
	s.text(o.Place, "place", "say where it is seen: indoor, outdoor, thermostat or panel")
	s.in("place").place(o.Place)
	s.in("needs").needs(o.Needs)
	s.in("cautions").refs("cautions", o.Cautions)
	for _, state := range keysOf(o.Beware) {
		if at := s.in("beware", state); at.oneOf("state", state, states...) {
			at.refs("cautions", o.Beware[state])
		}
	}
	for i, x := range o.Cases {
		at := s.in("cases", i)
		at.in("when").condition(c.all, x.When)
		at.in("likely").chances(x.Likely, states)
	}
	s.in("usual").chances(o.Usual, states)
}

// chances wants probabilities of known states that do not sum to more than one.
func (s spot) chances(likely map[string]float64, states []string) {
	const rounding = 1e-6
	total := 0.0
	for _, st := range slices.Sorted(maps.Keys(likely)) {
		p := likely[st]
		s.in(st).oneOf("state", st, states...)
		if !(p >= 0 && p <= 1) {
			s.in(st).fail("write a probability from 0 to 1", "%g is no probability", p)
		}
		total += p
	}
	switch {
	case len(likely) == 0:
		s.fail("give each state its probability", "nothing is likely")
	case total > 1+rounding, total < 1-rounding && len(likely) == len(states):
		s.fail("let them sum to 1, or leave a state out for what is left", "the probabilities sum to %.4g", total)
	}
}
