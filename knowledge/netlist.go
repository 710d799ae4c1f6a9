package knowledge

// Kind is a kind of component: the element the solver knows it as, its usual
// figures, and the modes it can be in besides good.
type Kind struct {
	// Element is what the solver stamps: branch, source, transformer or rotor.
	Element string `yaml:"element"`
	Name    string `yaml:"name"`
	// Values are the figures of the good part; a component may override them.
	Values  Values          `yaml:"values"`
	Running Values          `yaml:"running"`
	Modes   map[string]Mode `yaml:"modes"`
	Source  string          `yaml:"source"`
}

// Values are figures of an element by name: ohms (DC resistance, ohm),
// ac-ohms (60 Hz resistance where it differs), reactance (ohm at 60 Hz),
// uf (capacitance), volts, angle (degrees), ratio.
type Values map[string]Figure

// Mode is one way a component can be.
type Mode struct {
	// Set replaces figures, Scale multiplies them.
	Set   Values `yaml:"set"`
	Scale Values `yaml:"scale"`
	// Stuck holds a switch, contact or rotor: open, closed or stopped.
	Stuck string `yaml:"stuck"`
	// Fault is the default text of the fault this mode is when no file under
	// faults/ claims it; {name} stands for the component's name.
	Fault *Fault `yaml:"fault"`
}

// Circuit is a netlist.
type Circuit struct {
	Name       string          `yaml:"name"`
	Nodes      map[string]Node `yaml:"nodes"`
	Components []Component     `yaml:"components"`
	Source     string          `yaml:"source"`
}

// Node is a point of a circuit a lead can touch.
type Node struct {
	Terminal string `yaml:"terminal"`
	Colour   string `yaml:"colour"`
	Place    string `yaml:"place"`
	Name     string `yaml:"name"`
	// Common names the node a voltage at this node is read to.
	Common string `yaml:"common"`
}

// Component is a part of a circuit.
type Component struct {
	ID   string `yaml:"id"`
	Kind string `yaml:"kind"`
	Name string `yaml:"name"`
	// Nodes are the terminals: a branch's two, a transformer's primary pair then
	// secondary pair. Line side first.
	Nodes   []string `yaml:"nodes"`
	Values  Values   `yaml:"values"`
	Running Values   `yaml:"running"`
	// Rotor names the rotor that must turn for Running to hold.
	Rotor string `yaml:"rotor"`
	// Closed is the condition for a switch or contact to conduct; empty: always.
	Closed Condition `yaml:"closed"`
	// Trips is the condition that opens a protective device, once, for good
	// until it is reset.
	Trips Condition `yaml:"trips"`
	// Reset says how a trip ends: automatic, manual or replace.
	Reset string `yaml:"reset"`
	// Slow marks a trip that takes minutes: the technician may see the machine
	// before and after it.
	Slow bool `yaml:"slow"`
	// PullIn and DropOut are a coil's volts.
	PullIn  float64 `yaml:"pull-in"`
	DropOut float64 `yaml:"drop-out"`
	// Starts and Keeps are a rotor's conditions to start and to keep turning.
	Starts Condition `yaml:"starts"`
	Keeps  Condition `yaml:"keeps"`
	// Needs names facts that must hold for the part to be fitted; where they do
	// not, a branch in series is a plain wire.
	Needs map[string]string `yaml:"needs"`
	Place string            `yaml:"place"`
	// Symbol is how a drawing shows the part where kind and conditions do not tell.
	Symbol string `yaml:"symbol"`
	Source string `yaml:"source"`
}

// Condition is a list of atoms that must all hold.
type Condition []Atom

// Atom is one condition on the machine; exactly one field is set.
type Atom struct {
	// State: the machine is in one of these states.
	State []string `yaml:"state"`
	// Energised: a coil is pulled in. Dropped: it is not.
	Energised string `yaml:"energised"`
	Dropped   string `yaml:"dropped"`
	// Running, Stopped, Stalled: a rotor turns, does not turn, or is under power
	// and does not turn.
	Running string `yaml:"running"`
	Stopped string `yaml:"stopped"`
	Stalled string `yaml:"stalled"`
	// Tripped: a protective device has opened. Mode: a component is in a mode,
	// written component: mode.
	Tripped string            `yaml:"tripped"`
	Mode    map[string]string `yaml:"mode"`
	// Volts between two nodes, Amps through a component, Process variable: within
	// the bounds.
	Volts   []string `yaml:"volts"`
	Amps    string   `yaml:"amps"`
	Process string   `yaml:"process"`
	// Fact: the equipment's facts are these.
	Fact map[string]string `yaml:"fact"`
	// Any: one of these atoms holds.
	Any     Condition `yaml:"any"`
	AtLeast *Figure   `yaml:"at-least"`
	AtMost  *Figure   `yaml:"at-most"`
	// SaturationAtLeast and SaturationAtMost bound a pressure of the process by its
	// saturation temperature, °F.
	SaturationAtLeast *Figure `yaml:"saturation-at-least"`
	SaturationAtMost  *Figure `yaml:"saturation-at-most"`
}
