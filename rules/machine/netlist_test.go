package machine_test

import (
	"fmt"
	"maps"
	"math"
	"strings"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// unit is one machine as the outside check sees it: the knowledge and the facts,
// read here a second time with nothing of the solver but the YAML.
type unit struct {
	base  *knowledge.Base
	id    string
	facts map[string]string
	parts []knowledge.Component
}

func newUnit(base *knowledge.Base, id string, told map[string]string) *unit {
	u := &unit{base: base, id: id, facts: map[string]string{}, parts: base.Wiring(id).Components}
	for name, f := range base.Facts {
		u.facts[name] = f.Default
	}
	for _, e := range base.Lineage(id) {
		maps.Copy(u.facts, e.Facts)
	}
	maps.Copy(u.facts, told)
	return u
}

func (u *unit) figure(f knowledge.Figure) float64 {
	v, _ := u.base.Resolve(f, u.facts)
	return v
}

func (u *unit) limit(name string) float64 { return u.figure(knowledge.Figure{Name: name, Times: 1}) }

// fitted says whether a part is there; where it is not, it is a wire.
func (u *unit) fitted(c *knowledge.Component) bool {
	for fact, want := range c.Needs {
		if u.facts[fact] != want {
			return false
		}
	}
	return true
}

// values are a part's figures in a mode, turning or at rest.
func (u *unit) values(c *knowledge.Component, mode string, turning bool) map[string]float64 {
	kind := u.base.Kinds[c.Kind]
	layers := []knowledge.Values{kind.Values, c.Values}
	if turning {
		layers = append(layers, kind.Running, c.Running)
	}
	layers = append(layers, kind.Modes[mode].Set)
	out := map[string]float64{}
	for _, layer := range layers {
		for name, f := range layer {
			out[name] = u.figure(f)
		}
	}
	for name, f := range kind.Modes[mode].Scale {
		if _, has := out[name]; has {
			out[name] *= u.figure(f)
		}
	}
	return out
}

// scene is a settled phase to be rebuilt: what is wrong and what moved where.
type scene struct {
	*unit

	modes map[string]string
	phase *machine.Phase
	probe []string // two nodes a voltmeter bridges, or none
}

func (s *scene) String() string {
	return fmt.Sprintf("%v %v in %s, probe %v", s.modes, s.facts["contactor-poles"]+" poles", s.phase.State(), s.probe)
}

// plainWire is what stands in place of a part that is not fitted, ohm.
const plainWire = 0.01

// omega is 60 Hz in radians a second.
const omega = 2 * math.Pi * 60

// deck writes one scene's elements. Its nodes and elements begin with a prefix, so
// that many scenes stand side by side in one circuit.
type deck struct {
	strings.Builder

	prefix string
}

func (d *deck) node(name string) string {
	if name == "ground" {
		return "0"
	}
	return d.prefix + strings.ReplaceAll(name, "-", "_")
}

// add writes one element; kind is ngspice's letter.
func (d *deck) add(kind, name, form string, args ...any) {
	_, _ = fmt.Fprintf(d, "%s%s%s "+form+"\n", append([]any{kind, d.prefix, strings.ReplaceAll(name, "-", "_")}, args...)...)
}

// netlist writes the scene for ngspice. Every branch has an ammeter, a source of
// 0 V, before it.
func (s *scene) netlist(prefix string) string {
	d := &deck{prefix: prefix}
	nodes := map[string]bool{}
	for i := range s.parts {
		c := &s.parts[i]
		for _, n := range c.Nodes {
			nodes[n] = true
		}
		s.part(d, c)
	}
	for _, n := range sortedKeys(nodes) {
		if n != "ground" {
			d.add("r", "leak_"+n, "%s 0 %g", d.node(n), s.limit("insulation-leak"))
		}
	}
	if s.probe != nil {
		d.add("r", "meter", "%s %s %g", d.node(s.probe[0]), d.node(s.probe[1]), s.limit("meter-impedance"))
	}
	return d.String()
}

func (s *scene) part(d *deck, c *knowledge.Component) {
	v := s.values(c, s.modes[c.ID], c.Rotor != "" && s.phase.On(c.Rotor))
	switch s.base.Kinds[c.Kind].Element {
	case "source":
		d.add("v", c.ID, "%s %s dc 0 ac %.12g %.12g", d.node(c.Nodes[1]), d.node(c.Nodes[0]), v["volts"], v["angle"])
	case "transformer":
		d.transformer(c, v)
	case "branch":
		switch {
		case !s.fitted(c):
			d.branch(c, map[string]float64{"ohms": plainWire})
		case s.phase.Conducts(c.ID):
			d.branch(c, v)
		}
	}
}

// branch writes an ammeter, then resistance and inductance in series, with the
// capacitance beside them.
func (d *deck) branch(c *knowledge.Component, v map[string]float64) {
	ohms, closed := v["ohms"]
	if ac, ok := v["ac-ohms"]; ok {
		ohms, closed = ac, true
	}
	closed = closed && !math.IsInf(ohms, 1)
	if !closed && v["uf"] == 0 {
		return
	}
	after := d.node(c.ID + "_m")
	d.add("v", c.ID, "%s %s dc 0 ac 0", d.node(c.Nodes[0]), after)
	if uf := v["uf"]; uf > 0 {
		d.add("c", c.ID, "%s %s %.12g", after, d.node(c.Nodes[1]), uf*1e-6)
	}
	if !closed {
		return
	}
	x := v["reactance"]
	if x == 0 {
		d.add("r", c.ID, "%s %s %.12g", after, d.node(c.Nodes[1]), ohms)
		return
	}
	d.add("r", c.ID, "%s %s %.12g", after, d.node(c.ID+"_l"), ohms)
	d.add("l", c.ID, "%s %s %.12g", d.node(c.ID+"_l"), d.node(c.Nodes[1]), x/omega)
}

// transformer writes a magnetising inductance beside an ideal transformer (the
// secondary's volts follow the primary's, the primary's amps the secondary's),
// with the source resistance in the secondary lead. A broken winding keeps its
// coupling and loses its lead.
func (d *deck) transformer(c *knowledge.Component, v map[string]float64) {
	p2, s1, s2 := d.node(c.Nodes[1]), d.node(c.Nodes[2]), d.node(c.Nodes[3])
	core, emf, lead := d.node(c.ID+"_core"), d.node(c.ID+"_emf"), d.node(c.ID+"_lead")
	if !math.IsInf(v["primary-ohms"], 1) {
		d.add("v", c.ID, "%s %s dc 0 ac 0", d.node(c.Nodes[0]), core)
	}
	if !math.IsInf(v["secondary-ohms"], 1) {
		d.add("r", c.ID+"_out", "%s %s %.12g", emf, lead, v["ohms"])
	}
	d.add("l", c.ID, "%s %s %.12g", core, p2, v["magnetising"]/omega)
	d.add("e", c.ID, "%s %s %s %s %.12g", emf, s2, core, p2, v["ratio"])
	d.add("v", c.ID+"_sec", "%s %s dc 0 ac 0", lead, s1)
	d.add("f", c.ID, "%s %s v%s_sec %.12g", core, p2, d.node(c.ID), v["ratio"])
}
