package knowledge

import (
	"maps"
	"slices"
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
	pick(&c.Symbol, by.Symbol)
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
