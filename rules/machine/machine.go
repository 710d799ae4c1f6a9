package machine

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"proveout/knowledge"
	"proveout/rules/circuit"
)

// Machine is one unit ready to be settled. It remembers solved islands and is not
// safe for concurrent use.
type Machine struct {
	base    *knowledge.Base
	facts   map[string]string
	net     *circuit.Network
	parts   []part
	index   map[string]int // component id → part
	process []variable
	varOf   map[string]int
	here    *Conditions // the machine's own
	memory  circuit.Memory
	params  map[paramKey]circuit.Params
	meter   float64
	uses    map[string]bool
	owner   []int // element → part
}

// part is a component with its figures resolved for this unit.
type part struct {
	knowledge.Component

	kind    *knowledge.Kind
	element int // in the network, -1 for a rotor
	values  figures
	running figures
	rotor   int // part that must turn for running, -1
	plain   bool
	closed  condition
	trips   condition
	starts  condition
	keeps   condition
	modes   map[string]int // mode name → number from 1; 0 is good
	byMode  []knowledge.Mode
}

// figures are resolved values by name.
type figures map[string]float64

// variable is a process variable: its cases in order.
type variable struct {
	id    string
	cases []processCase
}

type processCase struct {
	when condition
	is   Process // its own value not yet worked out
}

// New builds the machine of an equipment with what is known of it; facts not
// told take their defaults. The error names what in the knowledge is at fault.
func New(base *knowledge.Base, equipment string, known map[string]string) (*Machine, error) {
	if base.Equipment[equipment] == nil {
		return nil, fmt.Errorf("building a machine: no equipment %q; name one of %v", equipment, slices.Sorted(maps.Keys(base.Equipment)))
	}
	m := &Machine{base: base, facts: map[string]string{}, index: map[string]int{}, varOf: map[string]int{}, params: map[paramKey]circuit.Params{}, uses: map[string]bool{"refrigerant": true}}
	for id, f := range base.Facts {
		m.facts[id] = f.Default
	}
	for _, e := range base.Lineage(equipment) {
		maps.Copy(m.facts, e.Facts)
	}
	maps.Copy(m.facts, known)
	here, err := Under(base, m.facts)
	if err != nil {
		return nil, err
	}
	m.here = here
	m.meter = m.figure(knowledge.Figure{Name: "meter-impedance", Times: 1})
	if err := m.wire(base.Wiring(equipment)); err != nil {
		return nil, fmt.Errorf("building %s: %w", equipment, err)
	}
	if err := m.addProcess(base.Lineage(equipment)); err != nil {
		return nil, fmt.Errorf("building %s: %w", equipment, err)
	}
	return m, nil
}

// Base is the knowledge the machine was built from.
func (m *Machine) Base() *knowledge.Base { return m.base }

// Facts are the unit's facts, told or by default. Not to be changed.
func (m *Machine) Facts() map[string]string { return m.facts }

// Uses are the facts the machine depends on.
func (m *Machine) Uses() map[string]bool { return m.uses }

// use notes a fact, or the fact behind a limit, as one the machine depends on.
func (m *Machine) use(name string) {
	if l, ok := m.base.Limits[name]; ok {
		if l.From != nil {
			m.use(l.From.Name)
		}
		return
	}
	m.uses[name] = true
}

func (m *Machine) figure(f knowledge.Figure) float64 {
	m.use(f.Name)
	v, _ := m.base.Resolve(f, m.facts)
	return v
}

// Fits reports whether the unit's facts are what needs asks for.
func (m *Machine) Fits(needs map[string]string) bool {
	fits := true
	for f, want := range needs {
		m.use(f)
		fits = fits && m.facts[f] == want
	}
	return fits
}

// Has reports whether every component a setting names is fitted.
func (m *Machine) Has(modes map[string]string) bool {
	for id := range modes {
		if i, ok := m.index[id]; !ok || m.parts[i].plain {
			return false
		}
	}
	return true
}

func (m *Machine) wire(w *knowledge.Wiring) error {
	var elements []circuit.Element
	for _, c := range w.Components {
		kind := m.base.Kinds[c.Kind]
		if kind == nil {
			return fmt.Errorf("component %s: no kind %q", c.ID, c.Kind)
		}
		p := part{Component: c, kind: kind, element: -1, rotor: -1, values: m.resolve(kind.Values, c.Values), modes: map[string]int{}, byMode: []knowledge.Mode{{}}}
		p.running = m.resolve(nil, p.valuesFigures(kind, c))
		p.plain = !m.Fits(c.Needs)
		for _, name := range slices.Sorted(maps.Keys(kind.Modes)) {
			p.modes[name] = len(p.byMode)
			p.byMode = append(p.byMode, m.mode(kind.Modes[name]))
		}
		if shape, ok := map[string]circuit.Shape{"branch": circuit.Branch, "source": circuit.Source, "transformer": circuit.Transformer}[kind.Element]; ok {
			p.element = len(elements)
			m.owner = append(m.owner, len(m.parts))
			elements = append(elements, circuit.Element{Name: c.ID, Shape: shape, Nodes: c.Nodes})
		}
		m.index[c.ID] = len(m.parts)
		m.parts = append(m.parts, p)
	}
	var err error
	m.net, err = circuit.New(elements, m.figure(knowledge.Figure{Name: "insulation-leak", Times: 1}))
	if err != nil {
		return err
	}
	for i := range m.parts {
		if err := m.bind(&m.parts[i]); err != nil {
			return fmt.Errorf("component %s: %w", m.parts[i].ID, err)
		}
	}
	return nil
}

// valuesFigures overlays the figures a turning rotor changes on the others.
func (p *part) valuesFigures(kind *knowledge.Kind, c knowledge.Component) knowledge.Values {
	out := knowledge.Values{}
	for _, v := range []knowledge.Values{kind.Values, c.Values, kind.Running, c.Running} {
		maps.Copy(out, v)
	}
	return out
}

func (m *Machine) resolve(layers ...knowledge.Values) figures {
	out := figures{}
	for _, v := range layers {
		for name, f := range v {
			out[name] = m.figure(f)
		}
	}
	return out
}

// mode resolves a mode's figures for this unit.
func (m *Machine) mode(md knowledge.Mode) knowledge.Mode {
	for _, values := range []*knowledge.Values{&md.Set, &md.Scale} {
		resolved := knowledge.Values{}
		for name, v := range m.resolve(*values) {
			resolved[name] = knowledge.Figure{Value: v}
		}
		*values = resolved
	}
	return md
}

// bind turns a part's conditions into functions over the running state.
func (m *Machine) bind(p *part) error {
	if p.Rotor != "" {
		r, ok := m.index[p.Rotor]
		if !ok {
			return fmt.Errorf("no rotor %q", p.Rotor)
		}
		p.rotor = r
	}
	for _, c := range []struct {
		from knowledge.Condition
		to   *condition
	}{{p.Closed, &p.closed}, {p.Trips, &p.trips}, {p.Starts, &p.starts}, {p.Keeps, &p.keeps}} {
		f, err := m.condition(c.from)
		if err != nil {
			return err
		}
		*c.to = f
	}
	return nil
}

func (m *Machine) addProcess(line []*knowledge.Equipment) error {
	cases := map[string][]knowledge.ProcessCase{}
	for _, e := range line {
		maps.Copy(cases, e.Process)
	}
	for i, id := range slices.Sorted(maps.Keys(cases)) {
		m.varOf[id] = i
		m.process = append(m.process, variable{id: id})
	}
	for i := range m.process {
		v := &m.process[i]
		for _, c := range cases[v.id] {
			when, err := m.condition(c.When)
			if err != nil {
				return fmt.Errorf("process %s: %w", v.id, err)
			}
			out := processCase{when: when, is: processOf(c)}
			if out.is.line != noLine && m.here.sat == nil {
				return fmt.Errorf("process %s: no saturation table for refrigerant %q", v.id, m.facts["refrigerant"])
			}
			v.cases = append(v.cases, out)
		}
	}
	return nil
}

// paramKey names what a part is at the moment.
type paramKey struct {
	part, mode int
	conducts   bool
	turning    bool
}

// param gives a part's element figures; open says a switch or contact is open.
func (m *Machine) param(k paramKey) circuit.Params {
	if p, ok := m.params[k]; ok {
		return p
	}
	p := &m.parts[k.part]
	out := p.circuitParams(k)
	m.params[k] = out
	return out
}

func (p *part) circuitParams(k paramKey) circuit.Params {
	f := p.figuresIn(k.mode, k.turning)
	get := func(name string, otherwise float64) float64 {
		if v, ok := f[name]; ok {
			return v
		}
		return otherwise
	}
	switch p.kind.Element {
	case "source":
		angle := get("angle", 0) * math.Pi / 180
		v := get("volts", 0)
		return circuit.Params{E: complex(v*math.Cos(angle), v*math.Sin(angle))}
	case "transformer":
		out := circuit.Params{Zs: complex(get("ohms", 1), 0)}
		if math.IsInf(get("secondary-ohms", 0), 1) {
			out.Zs = complex(math.Inf(1), 0)
		}
		if !math.IsInf(get("primary-ohms", 0), 1) {
			out.E = complex(get("ratio", 0.1), 0)
			out.Ym = complex(0, -1/get("magnetising", 1000))
		}
		return out
	}
	if p.plain {
		return circuit.Params{Y: circuit.Admittance(0.01, 0, 0)}
	}
	if !k.conducts {
		return circuit.Params{}
	}
	ohms, uf := get("ohms", math.NaN()), get("uf", 0)
	return circuit.Params{Y: circuit.Admittance(get("ac-ohms", ohms), get("reactance", 0), uf)}
}

// figuresIn gives a part's figures in a mode.
func (p *part) figuresIn(mode int, turning bool) figures {
	f := p.values
	if turning {
		f = p.running
	}
	if mode == 0 {
		return f
	}
	f = maps.Clone(f)
	md := p.byMode[mode]
	for name, v := range md.Set {
		f[name] = v.Value
	}
	for name, v := range md.Scale {
		if old, ok := f[name]; ok {
			f[name] = old * v.Value
		}
	}
	return f
}
