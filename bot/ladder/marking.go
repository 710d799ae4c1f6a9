package ladder

// Marking is what a drawing shows of a job besides the wiring. Nodes and components
// are named by their ids in the netlist; what the unit does not have is passed over.
type Marking struct {
	// Meter is where the meter goes for the reading asked; nil for none.
	Meter *Meter
	// Values are what was measured.
	Values []Value
	// Good are the parts proven good, Open the contacts that stand open, Absent the
	// parts told not to be fitted.
	Good, Open, Absent map[string]bool
	// Suspects are parts with the probability that one of their faults is the cause.
	Suspects map[string]float64
}

// Meter is a meter in place.
type Meter struct {
	// Name is what the dial is turned to: "AC volts".
	Name string
	// Red and Black are the nodes the leads touch; Clamp are instead the components
	// whose wires together go through the jaw.
	Red, Black string
	Clamp      []string
}

// Value is something measured: of a component, else at a node.
type Value struct {
	Component, Node string
	Text            string
}
