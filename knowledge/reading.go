package knowledge

import "strings"

// ReadingID names a reading as quantity/point, such as "voltage/contactor-coil".
type ReadingID string

// Quantity is the part before the slash.
func (r ReadingID) Quantity() string {
	q, _, _ := strings.Cut(string(r), "/")
	return q
}

// Point is the part after the slash.
func (r ReadingID) Point() string {
	_, p, _ := strings.Cut(string(r), "/")
	return p
}

// The states of the machine a reading belongs to.
const (
	Calling     = "calling"      // power on, thermostat calling for cooling
	Standing    = "standing"     // power on, thermostat satisfied, machine off and settled
	DeEnergised = "de-energised" // power off, locked out
)

// States lists the machine's states in the order the house names them.
var States = []string{Calling, Standing, DeEnergised}

// Quantity is a kind of reading: its unit, how well a meter tells it, and what
// values it can take.
type Quantity struct {
	// Name is how a sentence names the quantity: "voltage".
	Name string `yaml:"name"`
	// Unit is the unit readings are kept in, as vocabulary and JSON write it.
	Unit string `yaml:"unit"`
	// Shown is the unit as a person reads it: "°F" for "F".
	Shown string `yaml:"shown"`
	// Difference marks a temperature difference: °C × 1.8 with no 32.
	Difference bool `yaml:"difference"`
	// Decimals is how many a person is shown.
	Decimals int `yaml:"decimals"`
	// Percent of reading and Counts in the unit make the meter's standard error.
	Percent float64 `yaml:"percent"`
	Counts  float64 `yaml:"counts"`
	// Possible is the span outside which a value is impossible and is questioned
	// and never used.
	Possible [2]float64 `yaml:"possible"`
	// Units are the ways a unit is said, with the conversion value*Factor+Offset
	// into Unit.
	Units  []UnitWords `yaml:"units"`
	Source string      `yaml:"source"`
}

// UnitWords is one unit a person may say and its conversion into the kept unit.
type UnitWords struct {
	Name   string   `yaml:"name"`
	Words  []string `yaml:"words"`
	Factor float64  `yaml:"factor"`
	Offset float64  `yaml:"offset"`
}

// Measurement is one reading a person can take: where, with what, in which state
// of the machine, at what cost, and what it probes in the circuit.
type Measurement struct {
	// Name finishes the sentence "Read the …": "voltage across the contactor coil".
	Name string `yaml:"name"`
	// Point is the place alone, as it stands after "at" or "across".
	Point string `yaml:"point"`
	// Exactly one of the following says what the engine computes.
	Between    []string `yaml:"between"`     // two nodes (voltage)
	Through    []string `yaml:"through"`     // components whose currents together are read
	Across     []string `yaml:"across"`      // two nodes (resistance), everything but With lifted
	CapacityOf string   `yaml:"capacity-of"` // component whose capacitance is read
	Process    bool     `yaml:"process"`     // a process variable of the same id
	// From says which readings the engine makes this one of, when they are given
	// instead.
	From *Sum `yaml:"from"`
	// With lists the components that stay connected for a resistance reading.
	With []string `yaml:"with"`
	// States in which the reading may be taken, best first.
	States     []string `yaml:"states"`
	Instrument string   `yaml:"instrument"`
	Setting    string   `yaml:"setting"`
	Leads      string   `yaml:"leads"`
	Place      string   `yaml:"place"` // indoor, outdoor, thermostat …: moving costs time
	Minutes    float64  `yaml:"minutes"`
	Hazard     string   `yaml:"hazard"` // none, low, line, pressure
	// Needs names facts that must hold for the point to exist: {float-switch: fitted}.
	Needs    map[string]string `yaml:"needs"`
	Cautions []string          `yaml:"cautions"`
	Note     string            `yaml:"note"`
	Source   string            `yaml:"source"`
	// Alternatives are factors by which units are built differently, each as
	// likely as the value itself: a transformer wound for 120 or for 240 V.
	Alternatives []float64 `yaml:"alternatives"`
	// Spread overrides the equipment's spread for this reading.
	Spread *Spread `yaml:"spread"`
	// Component and Relation (out, across, ohms) say what a derived point is of.
	Component string `yaml:"-"`
	Relation  string `yaml:"-"`
	// Derived is set on points generated from a netlist component.
	Derived bool `yaml:"-"`
	// AtStart marks a reading watched as the machine starts, before slow protection
	// has opened.
	AtStart bool `yaml:"at-start"`
	// Reported is a reading understood and recorded but never asked for.
	Reported bool `yaml:"reported"`
}

// Observation is a thing seen, heard or felt: a subject and its states.
type Observation struct {
	// Name is the thing alone, "outdoor fan"; empty is its id read aloud.
	Name string `yaml:"name"`
	// Ask is the question, in words.
	Ask string `yaml:"ask"`
	// Yes and No are the states a bare yes and no to the question mean.
	Yes string `yaml:"yes"`
	No  string `yaml:"no"`
	// States and how a sentence says each: {running: "the blower runs"}.
	States map[string]string `yaml:"states"`
	// Answers say a state alone, "runs"; without one its id is read aloud.
	Answers map[string]string `yaml:"answers"`
	// Order lists the states, most telling first; it also breaks ties.
	Order []string `yaml:"order"`
	// Beside lists states that can be seen along with another one: noisy beside
	// running.
	Beside  []string `yaml:"beside"`
	In      string   `yaml:"in"`   // state of the machine it is looked at in
	Also    []string `yaml:"also"` // other states in which it may be asked for
	Minutes float64  `yaml:"minutes"`
	Place   string   `yaml:"place"`
	Hazard  string   `yaml:"hazard"`
	// Cases predict the observation; the first whose condition holds applies.
	Cases []ObservationCase `yaml:"cases"`
	// Usual is the distribution when no case applies and no fault says otherwise.
	Usual    map[string]float64 `yaml:"usual"`
	Needs    map[string]string  `yaml:"needs"`
	Cautions []string           `yaml:"cautions"`
	// Beware are the cautions for what is seen, by state, asked for or not.
	Beware map[string][]string `yaml:"beware"`
	Source string              `yaml:"source"`
	// AtStart: as for a Measurement.
	AtStart bool `yaml:"at-start"`
	// Reported is an observation understood and recorded but never asked for.
	Reported bool `yaml:"reported"`
}

// ObservationCase gives the probabilities of an observation's states when a
// condition on the solved machine holds.
type ObservationCase struct {
	When   Condition          `yaml:"when"`
	Likely map[string]float64 `yaml:"likely"`
}

// Fact is a thing true of the equipment: nameplate, fitted parts, settings.
type Fact struct {
	Name   string   `yaml:"name"`
	Ask    string   `yaml:"ask"`
	Values []string `yaml:"values"` // empty for a number
	// Answers say a value; without one it is said as it stands.
	Answers map[string]string `yaml:"answers"`
	Unit    string            `yaml:"unit"`
	Default string            `yaml:"default"`
	// From is the reading that tells the fact: outdoor air the outdoor temperature.
	From string `yaml:"from"`
	// Target makes the fact from a published table when it is not told.
	Target *TargetOf `yaml:"target"`
	// Condition marks what the weather and the house decide, not the machine.
	Condition bool `yaml:"condition"`
	// Possible is the span a number must lie in.
	Possible [2]float64 `yaml:"possible"`
	Minutes  float64    `yaml:"minutes"`
	Source   string     `yaml:"source"`
}

// TargetOf takes a value from a table under targets/, by two other facts: down, then
// across.
type TargetOf struct {
	Table string   `yaml:"table"`
	Of    []string `yaml:"of"`
}

// Sum makes one reading of two others.
type Sum struct {
	// By is superheat (suction line over the dew temperature at suction pressure),
	// subcooling (the bubble temperature at liquid pressure over the liquid line) or
	// difference (the first less the second).
	By string `yaml:"by"`
	// Of are the two readings, in the order By takes them.
	Of []string `yaml:"of"`
}

// Spread is how far sound machines of one kind lie apart in a reading: Percent of
// the predicted value and Counts in its unit make one standard deviation. Log
// marks a quantity compared by ratio, with Percent as the deviation of the
// logarithm and Counts as the floor below which values are the same.
type Spread struct {
	Percent float64 `yaml:"percent"`
	Counts  float64 `yaml:"counts"`
	Log     bool    `yaml:"log"`
}
