package bot

import (
	"slices"

	"proveout/knowledge"
)

// A cause that is ruled out is no proof that a part is good: what else is wrong may have
// explained it away. A part is shown to be good by what it carries, as a technician shows
// it: power arrives behind it.

// read takes from a reading what it shows of parts: volts that everything on the way
// carries, and a part read by itself that it is what was read.
func (c *circuit) read(m *knowledge.Measurement, v float64) {
	if m == nil {
		return
	}
	if m.CapacityOf != "" {
		c.passes[m.CapacityOf] = true
	}
	if len(m.With) == 1 {
		c.passes[m.With[0]] = true
	}
	present := "control-volts-present"
	if m.Hazard == "line" {
		present = "line-volts-present"
	}
	if least, _ := c.base.Resolve(knowledge.Figure{Name: present, Times: 1}, c.known); len(m.Between) == 2 && v >= least {
		// Volts between two points are volts across whatever joins them: what the one has
		// only by way of the other does not carry.
		c.live(m.Between[0], m.Between[1])
		c.live(m.Between[1], m.Between[0])
		c.parted(m.Between)
	}
}

// parted takes it that the one conductor between two nodes with volts between them is
// open.
func (c *circuit) parted(nodes []string) {
	for i := range c.wiring.Components {
		p := &c.wiring.Components[i]
		if c.conductor(p) && slices.Contains(nodes, p.Nodes[0]) && slices.Contains(nodes, p.Nodes[1]) {
			c.seen[p.ID] = no
		}
	}
}

// turns takes it that a rotor runs: its windings carry.
func (c *circuit) turns(rotor string) {
	for i := range c.wiring.Components {
		if p := &c.wiring.Components[i]; p.Rotor == rotor {
			c.carries(p.ID)
		}
	}
}

// carries takes it that a part carries: there is power at its ends, and what closes it is
// pulled in.
func (c *circuit) carries(id string) {
	p, ok := c.wiring.Component(id)
	if !ok || c.passes[id] {
		return
	}
	c.passes[id] = true
	for _, node := range p.Nodes[:min(2, len(p.Nodes))] { // of a transformer, the primary's
		c.live(node, "")
	}
	for _, a := range p.Closed {
		if a.Energised != "" {
			c.carries(a.Energised)
		}
	}
}

// live takes it that power is at a node, and not by way of another: every part without
// which no conductor leads there from a supply carries it.
func (c *circuit) live(node, past string) {
	supplies := c.reached(node, "", past)
	for i := range c.wiring.Components {
		p := &c.wiring.Components[i]
		switch {
		case c.passes[p.ID]:
		case c.supplies(p, supplies), c.conductor(p) && len(c.fed(supplies)) > 0 && len(c.fed(c.reached(node, p.ID, past))) == 0:
			c.carries(p.ID)
		}
	}
}

// reached are the nodes conductors lead to from a node, without a part and not past
// another node.
func (c *circuit) reached(node, without, past string) []string {
	out := []string{node}
	for at := 0; at < len(out); at++ {
		for i := range c.wiring.Components {
			p := &c.wiring.Components[i]
			if p.ID == without || !c.conductor(p) {
				continue
			}
			for j, n := range p.Nodes {
				if n == out[at] && p.Nodes[1-j] != past && !slices.Contains(out, p.Nodes[1-j]) {
					out = append(out, p.Nodes[1-j])
				}
			}
		}
	}
	return out
}

// fed are the supplies that give power to any of some nodes.
func (c *circuit) fed(nodes []string) []string {
	var out []string
	for i := range c.wiring.Components {
		if p := &c.wiring.Components[i]; c.supplies(p, nodes) {
			out = append(out, p.ID)
		}
	}
	return out
}

// supplies says whether a part gives power to any of some nodes: a source at its far end,
// a transformer at its secondary's.
func (c *circuit) supplies(p *knowledge.Component, nodes []string) bool {
	kind := c.base.Kinds[p.Kind]
	if kind == nil {
		return false
	}
	var ends []string
	switch kind.Element {
	case "source":
		ends = p.Nodes[1:]
	case "transformer":
		ends = p.Nodes[2:]
	}
	return slices.ContainsFunc(ends, func(n string) bool { return slices.Contains(nodes, n) })
}

// conductor says whether a part carries power on rather than using it: next to no
// resistance, and nothing that turns or pulls.
func (c *circuit) conductor(p *knowledge.Component) bool {
	kind := c.base.Kinds[p.Kind]
	if kind == nil || kind.Element != "branch" || len(p.Nodes) != 2 || p.Rotor != "" || p.PullIn > 0 {
		return false
	}
	value := func(name string) float64 {
		if f, ok := p.Values[name]; ok {
			return f.Value
		}
		return kind.Values[name].Value
	}
	_, stores := kind.Values["uf"]
	return !stores && value("reactance") == 0 && value("ohms") <= 1
}
