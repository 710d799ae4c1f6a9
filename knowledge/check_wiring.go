package knowledge

import (
	"maps"
	"slices"
	"strings"
)

// scope is what a condition or a reading may name.
type scope struct {
	nodes      map[string]bool
	components map[string]*Component
	ends       map[string]map[string]bool // component → nodes it joins, in any equipment
	process    map[string]bool
}

func newScope() *scope {
	return &scope{map[string]bool{}, map[string]*Component{}, map[string]map[string]bool{}, map[string]bool{}}
}

// join adds all that another scope has.
func (s *scope) join(o *scope) {
	maps.Copy(s.nodes, o.nodes)
	maps.Copy(s.components, o.components)
	maps.Copy(s.process, o.process)
	for id, nodes := range o.ends {
		if s.ends[id] == nil {
			s.ends[id] = map[string]bool{}
		}
		maps.Copy(s.ends[id], nodes)
	}
}

// everything is what any equipment has, together.
func (c *checker) everything() *scope {
	all := newScope()
	for _, id := range c.ids["equipment"] {
		all.join(c.b.scope(id, c.b.Wiring(id)))
	}
	return all
}

func (b *Base) scope(equipment string, w *Wiring) *scope {
	s := newScope()
	for n := range w.Nodes {
		s.nodes[n] = true
	}
	for i := range w.Components {
		part := &w.Components[i]
		s.components[part.ID], s.ends[part.ID] = part, map[string]bool{}
		for _, n := range part.Nodes {
			s.ends[part.ID][n] = true
		}
	}
	for _, e := range b.Lineage(equipment) {
		for id := range e.Process {
			s.process[id] = true
		}
	}
	return s
}

// circuit checks what needs no equipment; the rest is checked with each equipment
// that uses the circuit.
func (c *checker) circuit(s spot, id string, x *Circuit) {
	s.text(x.Name, "name", "name it as a sentence would: `name: 24 V control circuit`")
	s.source(x.Source)
	if c.lostWiring() {
		return
	}
	used := false
	for _, e := range c.b.Equipment {
		used = used || slices.Contains(e.Circuits, id)
	}
	if !used {
		s.fail("name it under circuits: of an equipment", "no equipment uses the circuit")
	}
}

// layer is one item that writes nodes and components of an equipment.
type layer struct {
	item       string
	nodes      map[string]Node
	components []Component
}

// layers lists where an equipment's nodes and components are written, oldest first.
func (b *Base) layers(equipment string) []layer {
	var out []layer
	line, id := b.Lineage(equipment), equipment
	ids := make([]string, len(line))
	for i := len(line) - 1; i >= 0; i-- {
		ids[i], id = id, line[i].Extends
	}
	for i, e := range line {
		for _, c := range e.Circuits {
			if x := b.Circuits[c]; x != nil {
				out = append(out, layer{"circuits/" + c, x.Nodes, x.Components})
			}
		}
		out = append(out, layer{"equipment/" + ids[i], e.Nodes, e.Components})
	}
	return out
}

// wired is one part of an equipment as put together, and every place it is written.
type wired struct {
	part  *Component
	spots []spot
}

// at is the place that decides a field: the last one that gives it.
func (w *wired) at(keys ...any) spot {
	for _, s := range slices.Backward(w.spots) {
		s = s.in(keys...)
		o := s.c.b.where[s.item]
		if _, all := o.descend(s.keys); all {
			return s
		}
	}
	return w.spots[0].in(keys...)
}

// wiring checks an equipment's netlist as a whole. What is wrong in a circuit or in
// what it extends is kept apart: others share it.
func (c *checker) wiring(id string) {
	before := len(c.errs)
	c.netlist(id)
	own := c.errs[:before:before]
	for _, e := range c.errs[before:] {
		if e.ID == "equipment/"+id {
			own = append(own, e)
		} else if !slices.Contains(c.met[*e], id) {
			c.met[*e] = append(c.met[*e], id)
		}
	}
	c.errs = own
}

// shared reports the mistakes in what several equipments share: once, and naming
// the equipment where only some meet it.
func (c *checker) shared() {
	users := map[string]int{}
	for id := range c.b.Equipment {
		for _, l := range c.b.layers(id) {
			users[l.item]++
		}
	}
	for e, in := range c.met {
		if len(in) < users[e.ID] {
			slices.Sort(in)
			e.What += " in " + strings.Join(in, ", ")
		}
		c.errs = append(c.errs, &e)
	}
}

func (c *checker) netlist(id string) {
	w := c.b.Wiring(id)
	sc := c.b.scope(id, w)
	parts := map[string]*wired{}
	for _, l := range c.b.layers(id) {
		for i := range l.components {
			c.written(l, i, w, parts)
		}
		for _, n := range keysOf(l.nodes) {
			s := spot{c, l.item, []any{"nodes", n}}
			if common := w.Nodes[n].Common; common != "" && l.nodes[n].Common != "" {
				s.in("common").node(sc, common)
			}
			s.in("place").place(l.nodes[n].Place)
		}
	}
	for _, p := range keysOf(parts) {
		c.part(sc, parts[p])
	}
	c.floating(id, w, parts)
}

// written notes one place a component is written at.
func (c *checker) written(l layer, i int, w *Wiring, parts map[string]*wired) {
	id, s := l.components[i].ID, spot{c, l.item, []any{"components", i}}
	if id == "" {
		s.fail("write `id:` and a name of its own", "the component has no id")
		return
	}
	p, again := parts[id]
	if !again {
		part, _ := w.Component(id)
		parts[id] = &wired{part, []spot{s}}
		return
	}
	if strings.HasPrefix(l.item, "circuits/") || p.spots[len(p.spots)-1].item == l.item {
		s.in("id").fail("give each its own id", "there are two components %q", id)
		return
	}
	p.spots = append(p.spots, s)
}

func (c *checker) part(sc *scope, w *wired) {
	p := w.part
	w.at().text(p.Name, "name", "name it as a sentence would: `name: low-pressure switch`")
	if !w.at("kind").ref("kinds", p.Kind) {
		return
	}
	element := c.b.Kinds[p.Kind].Element
	shape, ok := elements[element]
	if !ok {
		return // said at the kind
	}
	if len(p.Nodes) != shape.nodes {
		w.at("nodes").fail("list them line side first", "a %s joins %d nodes, not %d", p.Kind, shape.nodes, len(p.Nodes))
	}
	for i, n := range p.Nodes {
		w.at("nodes").in(i).node(sc, n)
	}
	if len(p.Nodes) == 2 && p.Nodes[0] == p.Nodes[1] {
		w.at("nodes").fail("name the two nodes it joins", "both ends are at %s", p.Nodes[0])
	}
	w.at("values").values(p.Values, element, shape.figures)
	w.at("running").values(p.Running, element, shape.figures)
	w.at("needs").needs(p.Needs)
	w.at("place").place(p.Place)
	if p.Symbol != "" {
		w.at("symbol").oneOf("symbol", p.Symbol, "disconnect", "float-switch", "temperature-switch", "thermostat", "timer")
	}
	c.moves(sc, w, element)
	c.provable(w)
}

// provable wants the faults a part gets from its kind to have a way to be proven on
// this netlist.
func (c *checker) provable(w *wired) {
	for _, mode := range keysOf(c.b.Kinds[w.part.Kind].Modes) {
		id := w.part.ID + "/" + mode
		f := c.b.Faults[id]
		if f == nil || !f.Derived || c.lostWiring() {
			continue
		}
		if len(f.Proof) == 0 || slices.ContainsFunc(f.Proof, func(s ProofStep) bool { return len(s.AnyOf) == 0 }) {
			w.at("id").fail("add a measurement there, or write "+id+" under faults/ with its own proof", "nothing on the unit reads what the proof of %s asks", id)
		}
	}
}

// moves checks what makes a part switch, trip or turn.
func (c *checker) moves(sc *scope, w *wired, element string) {
	p := w.part
	for _, x := range []struct {
		key  string
		cond Condition
		of   string
	}{{"closed", p.Closed, "branch"}, {"trips", p.Trips, "branch"}, {"starts", p.Starts, "rotor"}, {"keeps", p.Keeps, "rotor"}} {
		if x.cond != nil && element != x.of {
			w.at(x.key).fail("remove it", "a %s has no %s", element, x.key)
		}
		w.at(x.key).condition(sc, x.cond)
	}
	if r, ok := sc.components[p.Rotor]; p.Rotor != "" && w.at("rotor").component(sc, p.Rotor) && ok && !c.isA(r, "rotor") {
		w.at("rotor").fail("name a component of kind rotor", "%s is no rotor", p.Rotor)
	}
	if len(p.Running) > 0 && p.Rotor == "" {
		w.at("running").fail("add `rotor:`", "the running figures hold with no rotor named")
	}
	switch {
	case p.Reset != "":
		w.at("reset").oneOf("reset", p.Reset, "automatic", "manual", "replace", "cooling")
		if p.Trips == nil {
			w.at("reset").fail("add `trips:` or remove it", "a part that does not trip is never reset")
		}
	case p.Trips != nil:
		w.at("trips").fail("add `reset:` automatic, manual, replace or cooling", "nothing says how the trip ends")
	}
	if p.PullIn != 0 || p.DropOut != 0 {
		if element != "branch" || p.DropOut <= 0 || p.PullIn <= p.DropOut {
			w.at("pull-in").fail("give a coil both, in volts, the pull-in above the drop-out", "pull-in %g and drop-out %g are no pair", p.PullIn, p.DropOut)
		}
	}
}

func (c *checker) isA(p *Component, element string) bool {
	k := c.b.Kinds[p.Kind]
	return k == nil || k.Element == element
}

// floating finds nodes no current can go through and no lead is put on: nearly
// always a slip in a node's name.
func (c *checker) floating(id string, w *Wiring, parts map[string]*wired) {
	on := map[string][]string{}
	for i := range w.Components {
		for _, n := range w.Components[i].Nodes {
			on[n] = append(on[n], w.Components[i].ID)
		}
	}
	probed := map[string]bool{}
	for _, m := range c.b.Measurements {
		if !m.Derived {
			for _, n := range slices.Concat(m.Between, m.Across) {
				probed[n] = true
			}
		}
	}
	for _, n := range keysOf(w.Nodes) {
		switch {
		case len(on[n]) == 1 && !probed[n]:
			p := parts[on[n][0]]
			p.at("nodes").in(slices.Index(p.part.Nodes, n)).fail("join another component to it, or measure at it", "nothing but %s hangs on node %s, so no current can flow", on[n][0], n)
		case len(on[n]) == 0:
			c.untouched(id, n)
		}
	}
}

func (c *checker) untouched(equipment, node string) {
	for _, l := range slices.Backward(c.b.layers(equipment)) {
		if _, ok := l.nodes[node]; ok {
			spot{c, l.item, []any{"nodes", node}}.fail("name it under nodes: of a component, or remove it", "no component touches node %s", node)
			return
		}
	}
}
