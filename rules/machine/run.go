package machine

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules/circuit"
)

// Setting is what is wrong with a machine: components in modes other than good,
// and effects on its process.
type Setting struct {
	Modes   map[string]string
	Effects []knowledge.Effect
}

// Behaviour is the machine settled in each state, by phases whose weights sum to
// one in a state.
type Behaviour struct {
	Phases map[string][]*Phase
}

// Phase is a machine settled in one state.
type Phase struct {
	run
	Weight float64
}

// run is the state of a machine while it settles.
type run struct {
	m       *Machine
	state   string
	mode    []int
	shut    []bool // branch conducts
	on      []bool // coil pulled in, rotor turning
	tripped []bool
	process []Process
	effects []boundEffect
	sol     *circuit.Solution
	params  []circuit.Params
}

type boundEffect struct {
	variable int
	when     condition
	add, set *float64
	spread   float64
}

// settleRounds bounds the rounds of one settling; a machine needs fewer rounds
// than it has moving parts.
const settleRounds = 60

// Run settles the machine in every state. Trips that nothing but a person undoes
// carry over from calling to the states after it; a thermal one may or may not
// have cooled.
func (m *Machine) Run(s Setting) (*Behaviour, error) {
	mode, err := m.modesOf(s.Modes)
	if err != nil {
		return nil, err
	}
	effects, err := m.bindEffects(s.Effects)
	if err != nil {
		return nil, err
	}
	b := &Behaviour{Phases: map[string][]*Phase{}}
	tripped := make([]bool, len(m.parts))
	for _, state := range knowledge.States {
		start := &run{m: m, state: state, mode: mode, effects: effects, tripped: slices.Clone(tripped)}
		phases, err := start.phases()
		if err != nil {
			return nil, fmt.Errorf("settling in state %s: %w", state, err)
		}
		b.Phases[state] = phases
		if state == knowledge.Calling {
			last := phases[len(phases)-1]
			for i, t := range last.tripped {
				tripped[i] = t && m.staysOpen(i)
			}
		}
	}
	return b, nil
}

// staysOpen says whether a trip outlasts the state it happened in.
func (m *Machine) staysOpen(i int) bool {
	reset := m.parts[i].Reset
	if fact := strings.TrimSuffix(m.parts[i].ID, "-switch") + "-reset"; m.facts[fact] != "" && reset == "automatic" {
		m.use(fact)
		reset = m.facts[fact]
	}
	return reset != "automatic"
}

func (m *Machine) modesOf(modes map[string]string) ([]int, error) {
	out := make([]int, len(m.parts))
	for id, name := range modes {
		i, ok := m.index[id]
		if !ok {
			return nil, fmt.Errorf("no component %q on this unit", id)
		}
		k, ok := m.parts[i].modes[name]
		if !ok {
			return nil, fmt.Errorf("component %q has no mode %q", id, name)
		}
		out[i] = k
	}
	return out, nil
}

func (m *Machine) bindEffects(effects []knowledge.Effect) ([]boundEffect, error) {
	var out []boundEffect
	for _, e := range effects {
		v, ok := m.varOf[e.On]
		if !ok {
			return nil, fmt.Errorf("no process variable %q on this unit", e.On)
		}
		when, err := m.condition(e.When)
		if err != nil {
			return nil, err
		}
		out = append(out, boundEffect{variable: v, when: when, add: e.Add, set: e.Set, spread: e.Spread})
	}
	return out, nil
}

// phases settles, then opens slow protective devices one after another, keeping
// each settled state as a phase. Of two phases the later is the likelier to be
// met: a technician comes after the trip more often than before it.
func (r *run) phases() ([]*Phase, error) {
	m := r.m
	r.shut, r.on = make([]bool, len(m.parts)), make([]bool, len(m.parts))
	r.process = make([]Process, len(m.process))
	r.params = make([]circuit.Params, m.elements())
	r.tripAtRest()
	if err := r.settle(); err != nil {
		return nil, err
	}
	out := []*Phase{r.snapshot(1)}
	if r.state == knowledge.DeEnergised {
		return r.cooled(out)
	}
	for range m.parts {
		i := r.slowTrip()
		if i < 0 {
			break
		}
		r.tripped[i] = true
		if err := r.settle(); err != nil {
			return nil, err
		}
		out = append(out, r.snapshot(1))
	}
	weigh(out)
	return out, nil
}

// tripAtRest opens the devices whose condition holds with everything at rest: a
// pressure switch over a lost charge is open before anybody calls.
func (r *run) tripAtRest() {
	r.evaluateProcess()
	for i := r.slowTrip(); i >= 0; i = r.slowTrip() {
		r.tripped[i] = true
	}
}

// cooled adds, with the power off, the phase in which a thermal trip has reset.
func (r *run) cooled(out []*Phase) ([]*Phase, error) {
	reset := false
	for i := range r.tripped {
		if r.tripped[i] && r.m.parts[i].Reset == "cooling" {
			r.tripped[i], reset = false, true
		}
	}
	if reset {
		if err := r.settle(); err != nil {
			return nil, err
		}
		out = append(out, r.snapshot(1))
	}
	weigh(out)
	return out, nil
}

// weigh makes the phases equally likely: a machine that trips and resets is met
// in either.
func weigh(phases []*Phase) {
	for _, p := range phases {
		p.Weight = 1 / float64(len(phases))
	}
}

// snapshot keeps the settled state. The phase keeps the very params its solution
// was found with, since currents are read from them; the run goes on with its own.
func (r *run) snapshot(weight float64) *Phase {
	p := &Phase{run: *r, Weight: weight}
	p.shut, p.on, p.tripped = slices.Clone(r.shut), slices.Clone(r.on), slices.Clone(r.tripped)
	p.process, r.params = slices.Clone(r.process), slices.Clone(r.params)
	return p
}

func (m *Machine) elements() int {
	n := 0
	for i := range m.parts {
		if m.parts[i].element >= 0 {
			n++
		}
	}
	return n
}

// slowTrip finds a slow protective device whose condition holds, -1 if none.
func (r *run) slowTrip() int {
	for i := range r.m.parts {
		p := &r.m.parts[i]
		if p.Slow && p.Trips != nil && !p.plain && !r.tripped[i] && p.stuck(r.mode[i]) == "" && p.trips(r) {
			return i
		}
	}
	return -1
}

func (p *part) stuck(mode int) string { return p.byMode[mode].Stuck }

// settle repeats solving and moving until nothing moves.
func (r *run) settle() error {
	seen := map[string]int{}
	var trail [][]string
	for range settleRounds {
		r.evaluateProcess()
		if err := r.solve(); err != nil {
			return err
		}
		moved := r.move()
		if len(moved) == 0 {
			return nil
		}
		trail = append(trail, moved)
		key := r.key()
		if from, again := seen[key]; again {
			return loopError(trail[from+1:])
		}
		seen[key] = len(trail) - 1
	}
	return loopError(trail)
}

// loopError names the parts that chase each other.
func loopError(trail [][]string) error {
	var names []string
	for _, step := range trail {
		for _, n := range step {
			if !slices.Contains(names, n) {
				names = append(names, n)
			}
		}
	}
	slices.Sort(names)
	return fmt.Errorf("it does not settle: %s switch each other on and off; break the loop in the netlist or give the coil a lower drop-out", strings.Join(names, ", "))
}

func (r *run) key() string {
	b := make([]byte, 0, 3*len(r.on))
	for i := range r.on {
		b = append(b, bit(r.on[i]), bit(r.shut[i]), bit(r.tripped[i]))
	}
	return string(b)
}

func bit(b bool) byte {
	if b {
		return '1'
	}
	return '0'
}

func (r *run) solve() error {
	m := r.m
	for i := range m.parts {
		p := &m.parts[i]
		if p.element < 0 {
			continue
		}
		r.shut[i] = r.conducts(i)
		r.params[p.element] = m.param(r.paramKey(i))
	}
	sol, err := m.net.Solve(r.params, &m.memory, r.islandKey)
	r.sol = sol
	return err
}

func (r *run) paramKey(i int) paramKey {
	p := &r.m.parts[i]
	return paramKey{part: i, mode: r.mode[i], conducts: r.shut[i], turning: p.rotor >= 0 && r.on[p.rotor]}
}

// islandKey is equal when an island's parts and all sources are.
func (r *run) islandKey(island int, elements []int) string {
	b := make([]byte, 0, 2*len(elements)+8)
	b = append(b, byte(island))
	for _, e := range elements {
		k := r.paramKey(r.m.partOf(e))
		b = append(b, byte(k.mode), bit(k.conducts)<<1|bit(k.turning))
	}
	for i := range r.m.parts {
		if r.m.parts[i].kind.Element == "source" {
			b = append(b, byte(r.mode[i]))
		}
	}
	return string(b)
}

func (m *Machine) partOf(element int) int { return m.owner[element] }

// conducts says whether a branch is closed now. A moving part's condition is
// looked at with the last solution; before the first it is open.
func (r *run) conducts(i int) bool {
	p := &r.m.parts[i]
	switch p.stuck(r.mode[i]) {
	case "open":
		return false
	case "closed":
		return true
	}
	if r.tripped[i] {
		return false
	}
	if p.Closed == nil || p.plain {
		return true
	}
	return p.closed(r)
}

// move brings coils, contacts, rotors and fast trips to what the solution says
// and lists the parts that moved.
func (r *run) move() []string {
	var moved []string
	for i := range r.m.parts {
		p := &r.m.parts[i]
		changed := false
		switch {
		case p.kind.Element == "rotor":
			next := r.turns(i)
			changed, r.on[i] = next != r.on[i], next
		case p.PullIn > 0:
			next := r.pulls(i)
			changed, r.on[i] = next != r.on[i], next
		case p.Trips != nil && !p.Slow && !p.plain && !r.tripped[i] && p.stuck(r.mode[i]) == "" && p.trips(r):
			changed, r.tripped[i] = true, true
		}
		if changed {
			moved = append(moved, p.ID)
		}
	}
	for i := range r.m.parts {
		if p := &r.m.parts[i]; p.element >= 0 && r.conducts(i) != r.shut[i] && !slices.Contains(moved, p.ID) {
			moved = append(moved, p.ID)
		}
	}
	return moved
}

func (r *run) turns(i int) bool {
	p := &r.m.parts[i]
	if p.stuck(r.mode[i]) == "stopped" {
		return false
	}
	if r.on[i] {
		return p.keeps(r)
	}
	return p.starts(r)
}

// pulls goes by the volts across a coil and by what its current would take on the
// good winding: volts across a broken coil pull nothing in.
func (r *run) pulls(i int) bool {
	p := &r.m.parts[i]
	good := r.m.param(paramKey{part: i, conducts: true}).Y
	v := min(r.acrossVolts(i), cmplx.Abs(r.sol.Current(p.element)/good))
	if r.on[i] {
		return v >= p.DropOut
	}
	return v >= p.PullIn
}

func (r *run) acrossVolts(i int) float64 {
	p := &r.m.parts[i]
	a, _ := r.m.net.Node(p.Nodes[0])
	b, _ := r.m.net.Node(p.Nodes[1])
	return cmplx.Abs(r.sol.Voltage(a, b))
}

// powered says whether a rotor's windings carry a motor's current.
func (r *run) powered(rotor int) bool {
	for i := range r.m.parts {
		if p := &r.m.parts[i]; p.rotor == rotor && cmplx.Abs(r.sol.Current(p.element)) > 0.25 {
			return true
		}
	}
	return false
}

func (r *run) evaluateProcess() {
	for v := range r.m.process {
		r.process[v] = r.processValue(v)
	}
}

// processValue is a variable's first case that holds, moved by the effects that
// hold, worked out under the machine's own conditions.
func (r *run) processValue(v int) Process {
	for _, c := range r.m.process[v].cases {
		if !c.when(r) {
			continue
		}
		p := c.is
		for _, e := range r.effects {
			if e.variable == v && e.when(r) {
				p = p.moved(&e)
			}
		}
		p.Value, p.Spread = p.Under(r.m.here)
		return p
	}
	return Process{Value: math.NaN(), Spread: math.NaN()}
}
