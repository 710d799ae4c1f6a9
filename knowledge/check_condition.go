package knowledge

import "math"

// condition checks every atom; whether it can ever hold is not looked at.
func (s spot) condition(sc *scope, c Condition) {
	for i := range c {
		s.in(i).atom(sc, &c[i])
	}
}

const oneAtom = "give it one of state, energised, dropped, running, stopped, stalled, tripped, mode, volts, amps, process, fact, any"

// atom checks one condition: exactly one thing is asked of the machine, what it
// names exists, and bounds stand only where there is a figure.
func (s spot) atom(sc *scope, a *Atom) {
	bounded := a.AtLeast != nil || a.AtMost != nil || a.SaturationAtLeast != nil || a.SaturationAtMost != nil
	switch said := a.said(); {
	case said == 0:
		s.fail(oneAtom, "the condition says nothing")
		return
	case said > 1:
		s.fail("make it one list entry each", "the condition says %d things at once", said)
	case a.Volts == nil && a.Amps == "" && a.Process == "":
		if bounded {
			s.fail("remove at-least and at-most", "bounds stand on what is no figure")
		}
	case !bounded:
		s.fail("give it at-least or at-most", "the condition has no bound")
	}
	s.bounds(a.AtLeast, a.AtMost)
	s.saturation(a.Process, a.SaturationAtLeast, a.SaturationAtMost)
	s.moved(sc, a)
	for _, id := range keysOf(a.Mode) {
		s.in("mode", id).inMode(sc, id, a.Mode[id])
	}
	for i, st := range a.State {
		s.in("state", i).oneOf("state", st, States...)
	}
	if a.Volts != nil {
		s.in("volts").pair(sc, a.Volts)
	}
	if a.Amps != "" && s.in("amps").component(sc, a.Amps) && s.c.isA(sc.components[a.Amps], "rotor") {
		s.in("amps").fail("name a component with nodes", "no current goes through %s", a.Amps)
	}
	if a.Process != "" {
		s.in("process").processID(sc, a.Process)
	}
	s.in("fact").needs(a.Fact)
	s.in("any").condition(sc, a.Any)
}

// said counts what an atom asks.
func (a *Atom) said() int {
	n := 0
	for _, set := range []bool{
		a.State != nil, a.Energised != "", a.Dropped != "", a.Running != "", a.Stopped != "", a.Stalled != "",
		a.Tripped != "", a.Mode != nil, a.Volts != nil, a.Amps != "", a.Process != "", a.Fact != nil, a.Any != nil,
	} {
		if set {
			n++
		}
	}
	return n
}

// moved checks what an atom says of a coil, a rotor or a protective device.
func (s spot) moved(sc *scope, a *Atom) {
	for _, x := range []struct{ key, id string }{
		{"energised", a.Energised}, {"dropped", a.Dropped}, {"running", a.Running}, {"stopped", a.Stopped}, {"stalled", a.Stalled}, {"tripped", a.Tripped},
	} {
		if x.id == "" || !s.in(x.key).component(sc, x.id) {
			continue
		}
		p := sc.components[x.id]
		switch x.key {
		case "energised", "dropped":
			if p.PullIn == 0 {
				s.in(x.key).fail("name a component with pull-in and drop-out", "%s is no coil", x.id)
			}
		case "tripped":
			if p.Trips == nil {
				s.in(x.key).fail("name a component with trips", "%s never trips", x.id)
			}
		default:
			if !s.c.isA(p, "rotor") {
				s.in(x.key).fail("name a component of kind rotor", "%s is no rotor", x.id)
			}
		}
	}
}

// inMode wants a component to have a mode, and says so.
func (s spot) inMode(sc *scope, id, mode string) {
	if !s.component(sc, id) {
		return
	}
	if k := s.c.b.Kinds[sc.components[id].Kind]; k != nil {
		if _, ok := k.Modes[mode]; !ok {
			s.fail(suggest(mode, keysOf(k.Modes), "add it under kinds/, "+sc.components[id].Kind), "%s has no mode %q", id, mode)
		}
	}
}

// pair wants two nodes.
func (s spot) pair(sc *scope, nodes []string) {
	if len(nodes) != 2 || nodes[0] == nodes[1] {
		s.fail("name the two nodes the leads are on", "it takes two nodes, not %v", nodes)
	}
	for i, n := range nodes {
		s.in(i).node(sc, n)
	}
}

// node and component want the scope to have one; where a netlist could not be read
// they say nothing, and component says no.
func (s spot) node(sc *scope, id string) {
	if !sc.nodes[id] && !s.c.lostWiring() {
		s.fail(suggest(id, keysOf(sc.nodes), "add it under nodes:"), "no node is called %q", id)
	}
}

func (s spot) component(sc *scope, id string) bool {
	if s.c.lostWiring() {
		return false
	}
	if sc.components[id] == nil {
		s.fail(suggest(id, keysOf(sc.components), "name a component of the circuits"), "no component is called %q", id)
		return false
	}
	return true
}

func (s spot) processID(sc *scope, id string) {
	if !sc.process[id] && !s.c.lostWiring() {
		s.fail(suggest(id, keysOf(sc.process), "give it cases under process: of the equipment"), "no process variable is called %q", id)
	}
}

// needs wants facts with values they can have.
func (s spot) needs(facts map[string]string) {
	for _, id := range keysOf(facts) {
		at := s.in(id)
		if !at.ref("facts", id) {
			continue
		}
		if f := s.c.b.Facts[id]; len(f.Values) > 0 {
			at.oneOf("value of "+id, facts[id], f.Values...)
		}
	}
}

// bounds wants figures that mean something, the lower below the upper.
func (s spot) bounds(low, high *Figure) {
	s.in("at-least").figure(low)
	s.in("at-most").figure(high)
	if low != nil && high != nil && low.Name == high.Name && low.Times == high.Times && low.Value+low.Plus > high.Value+high.Plus {
		s.in("at-least").fail("put the smaller in at-least", "nothing is at least %s and at most %s", low, high)
	}
}

// saturation wants saturation temperatures only of a pressure.
func (s spot) saturation(reading string, low, high *Figure) {
	s.in("saturation-at-least").figure(low)
	s.in("saturation-at-most").figure(high)
	if (low != nil || high != nil) && ReadingID(reading).Quantity() != "pressure" {
		s.fail("write at-least or at-most", "only a pressure has a saturation temperature")
	}
}

// figure wants a number, or the name of a limit or of a fact that is a number.
func (s spot) figure(f *Figure) {
	switch {
	case f == nil:
	case f.Name == "":
		if math.IsNaN(f.Value) {
			s.fail("write a number", "the figure is not a number")
		}
	case s.c.b.Limits[f.Name] != nil || s.c.lost["limits"] || s.c.lost["facts"]:
	case s.c.b.Facts[f.Name] == nil:
		known := append(keysOf(s.c.b.Limits), keysOf(s.c.b.Facts)...)
		s.fail(suggest(f.Name, known, "name one of those under limits/ or facts/, or add it there"), "no limit or fact is called %q", f.Name)
	case len(s.c.b.Facts[f.Name].Values) > 0:
		s.fail("name a fact that is a number", "the fact %s is no figure", f.Name)
	}
}
