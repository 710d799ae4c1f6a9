package machine

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"proveout/knowledge"
)

// condition is a knowledge.Condition bound to a machine's parts.
type condition func(*run) bool

// condition binds; an empty condition always holds.
func (m *Machine) condition(c knowledge.Condition) (condition, error) {
	var all []condition
	for _, a := range c {
		f, err := m.atom(a)
		if err != nil {
			return nil, err
		}
		all = append(all, f)
	}
	return func(r *run) bool {
		for _, f := range all {
			if !f(r) {
				return false
			}
		}
		return true
	}, nil
}

func (m *Machine) atom(a knowledge.Atom) (condition, error) {
	switch {
	case a.Any != nil:
		return m.anyOf(a.Any)
	case a.State != nil:
		states := a.State
		return func(r *run) bool { return slices.Contains(states, r.state) }, nil
	case a.Fact != nil:
		holds := m.Fits(a.Fact)
		return func(*run) bool { return holds }, nil
	case a.Mode != nil:
		return m.inMode(a.Mode)
	case a.Volts != nil, a.Amps != "", a.Process != "":
		return m.bounded(a)
	}
	for _, s := range []struct {
		id    string
		holds func(*run, int) bool
	}{
		{a.Energised, func(r *run, i int) bool { return r.on[i] }},
		{a.Dropped, func(r *run, i int) bool { return !r.on[i] }},
		{a.Running, func(r *run, i int) bool { return r.on[i] }},
		{a.Stopped, func(r *run, i int) bool { return !r.on[i] }},
		{a.Stalled, func(r *run, i int) bool { return !r.on[i] && r.powered(i) }},
		{a.Tripped, func(r *run, i int) bool { return r.tripped[i] }},
	} {
		if s.id == "" {
			continue
		}
		i, ok := m.index[s.id]
		if !ok {
			return nil, fmt.Errorf("a condition names no component %q", s.id)
		}
		return func(r *run) bool { return s.holds(r, i) }, nil
	}
	return nil, fmt.Errorf("a condition says nothing; give it one of state, energised, dropped, running, stopped, stalled, tripped, mode, volts, amps, process, fact, any")
}

func (m *Machine) anyOf(c knowledge.Condition) (condition, error) {
	var some []condition
	for _, a := range c {
		f, err := m.atom(a)
		if err != nil {
			return nil, err
		}
		some = append(some, f)
	}
	return func(r *run) bool { return slices.ContainsFunc(some, func(f condition) bool { return f(r) }) }, nil
}

func (m *Machine) inMode(want map[string]string) (condition, error) {
	type pair struct{ part, mode int }
	var all []pair
	for id, mode := range want {
		i, ok := m.index[id]
		if !ok {
			return nil, fmt.Errorf("a condition names no component %q", id)
		}
		k, ok := m.parts[i].modes[mode]
		if !ok {
			return nil, fmt.Errorf("component %q has no mode %q", id, mode)
		}
		all = append(all, pair{i, k})
	}
	return func(r *run) bool {
		for _, p := range all {
			if r.mode[p.part] != p.mode {
				return false
			}
		}
		return true
	}, nil
}

// bounded compares volts, amps or a process variable with its bounds.
func (m *Machine) bounded(a knowledge.Atom) (condition, error) {
	var value func(*run) float64
	switch {
	case a.Volts != nil:
		if len(a.Volts) != 2 {
			return nil, fmt.Errorf("volts takes two nodes, not %v", a.Volts)
		}
		x, okx := m.net.Node(a.Volts[0])
		y, oky := m.net.Node(a.Volts[1])
		if !okx || !oky {
			return nil, fmt.Errorf("a condition names a node of %v that no component touches", a.Volts)
		}
		value = solved(func(r *run) float64 { return cmplx.Abs(r.sol.Voltage(x, y)) })
	case a.Amps != "":
		i, ok := m.index[a.Amps]
		if !ok || m.parts[i].element < 0 {
			return nil, fmt.Errorf("a condition names no component with a current: %q", a.Amps)
		}
		e := m.parts[i].element
		value = solved(func(r *run) float64 { return cmplx.Abs(r.sol.Current(e)) })
	default:
		value = m.processFigure(a)
	}
	lo, hi := a.AtLeast, a.AtMost
	if a.SaturationAtLeast != nil || a.SaturationAtMost != nil {
		lo, hi = a.SaturationAtLeast, a.SaturationAtMost
	}
	if lo == nil && hi == nil {
		return nil, fmt.Errorf("a condition on a figure has no bound; give at-least or at-most")
	}
	low, high := 0.0, 0.0
	if lo != nil {
		low = m.figure(*lo)
	}
	if hi != nil {
		high = m.figure(*hi)
	}
	return func(r *run) bool {
		v := value(r)
		return (lo == nil || v >= low) && (hi == nil || v <= high)
	}, nil
}

// processFigure is what an atom bounds of a process variable: its value, or the
// saturation temperature it stands for.
func (m *Machine) processFigure(a knowledge.Atom) func(*run) float64 {
	id, bySaturation := a.Process, a.SaturationAtLeast != nil || a.SaturationAtMost != nil
	return func(r *run) float64 {
		v, ok := m.varOf[id]
		switch {
		case !ok:
			return math.NaN()
		case bySaturation:
			return r.process[v].saturation(m.here)
		}
		return r.process[v].Value
	}
}

// solved makes a figure of the network unknown, and so within no bounds, before
// the first solution.
func solved(value func(*run) float64) func(*run) float64 {
	return func(r *run) float64 {
		if r.sol == nil {
			return math.NaN()
		}
		return value(r)
	}
}

// Condition binds a condition of the knowledge to this machine, to be asked of
// its settled phases.
func (m *Machine) Condition(c knowledge.Condition) (func(*Phase) bool, error) {
	f, err := m.condition(c)
	if err != nil {
		return nil, err
	}
	return func(p *Phase) bool { return f(&p.run) }, nil
}
