package ladder

import (
	"cmp"
	"slices"

	"proveout/knowledge"
)

// touched are the two nodes a measurement's leads go to on a unit, and whether they are
// there: a part read by itself is read at its ends, wherever the unit wires them.
func touched(w *knowledge.Wiring, m *knowledge.Measurement) (a, b string, ok bool) {
	pair := m.Between
	if m.Across != nil {
		pair = m.Across
	}
	alone := m.CapacityOf
	if len(m.With) == 1 {
		alone = m.With[0]
	}
	if c, found := w.Component(alone); found && len(c.Nodes) == 2 {
		pair = c.Nodes
	}
	if len(pair) != 2 {
		return "", "", false
	}
	_, first := w.Nodes[pair[0]]
	_, second := w.Nodes[pair[1]]
	return pair[0], pair[1], first && second
}

// MeterFor is where a reading's leads or jaw go on a unit; nil for a reading that is not
// taken in the circuit, or of a part the unit does not have.
func MeterFor(base *knowledge.Base, equipment string, reading knowledge.ReadingID) *Meter {
	m, w := base.Measurements[reading], base.Wiring(equipment)
	if m == nil {
		return nil
	}
	if len(m.Through) > 0 {
		for _, id := range m.Through {
			if _, ok := w.Component(id); !ok {
				return nil
			}
		}
		return &Meter{Name: m.Setting, Clamp: m.Through}
	}
	a, b, ok := touched(w, m)
	if !ok {
		return nil
	}
	return &Meter{Name: m.Setting, Red: a, Black: b}
}

// ValueOf is where a reading's value, as text, is written on a unit; ok is false for one
// that has no place in the circuit. What is read to the usual common, or of one part, says
// so by its place; of any other pair the text says what the second point is.
func ValueOf(base *knowledge.Base, equipment string, reading knowledge.ReadingID, text string) (v Value, ok bool) {
	m, w := base.Measurements[reading], base.Wiring(equipment)
	if m == nil {
		return v, false
	}
	if len(m.Through) > 0 {
		_, ok = w.Component(m.Through[0])
		return Value{Component: m.Through[0], Text: text}, ok
	}
	a, b, ok := touched(w, m)
	if !ok {
		return v, false
	}
	if m.Between != nil && w.Nodes[a].Common == b {
		return Value{Node: a, Text: text}, true
	}
	part := m.CapacityOf
	if len(m.With) == 1 {
		part = m.With[0]
	}
	if m.Between != nil {
		part = between(w, a, b)
	}
	if part != "" {
		return Value{Component: part, Text: text}, true
	}
	to := w.Nodes[b]
	return Value{Node: a, Text: text + " → " + cmp.Or(to.Terminal, to.Name)}, true
}

// between is the one component that joins two nodes; empty where there is none or more.
func between(w *knowledge.Wiring, a, b string) string {
	found := ""
	for i := range w.Components {
		if c := &w.Components[i]; len(c.Nodes) == 2 && slices.Contains(c.Nodes, a) && slices.Contains(c.Nodes, b) {
			if found != "" {
				return ""
			}
			found = c.ID
		}
	}
	return found
}
