package knowledge

import "maps"

// Fault is a root cause.
type Fault struct {
	// Name finishes "It is a …": "stuck-open low-pressure switch".
	Name string `yaml:"name"`
	// Short is the name in a list, a few words.
	Short string `yaml:"short"`
	// Part to send, empty when none is needed.
	Part string `yaml:"part"`
	// Weight is the relative frequency on no-cooling calls.
	Weight float64 `yaml:"weight"`
	Source string  `yaml:"source"`
	// Modes puts components into modes; Variants are several degrees of the same
	// fault, each with its share of the weight.
	Modes    map[string]string `yaml:"modes"`
	Effects  []Effect          `yaml:"effects"`
	Variants []Variant         `yaml:"variants"`
	// Shows gives the probabilities of observations the circuit cannot predict.
	Shows map[string]map[string]float64 `yaml:"shows"`
	// ConsequenceOf lists what else must have been looked at before this is
	// called the root cause.
	ConsequenceOf []string `yaml:"consequence-of"`
	// Proof is what must be in hand before the call: every step, each by any of
	// its ways.
	Proof []ProofStep `yaml:"proof"`
	// Needs names facts that must hold for the fault to be possible.
	Needs  map[string]string `yaml:"needs"`
	Repair string            `yaml:"repair"`
	// Brief is the repair in a few words, for a channel of short messages.
	Brief             string   `yaml:"brief"`
	Cautions          []string `yaml:"cautions"`
	Checks            []string `yaml:"checks"`
	NeedsConfirmation bool     `yaml:"needs-confirmation"`
	// Alike names the faults no measurement of this equipment tells from it, with
	// the reason.
	Alike map[string]string `yaml:"alike"`
	// Derived is set on faults generated from a component's kind.
	Derived bool `yaml:"-"`
}

// The degrees a fault of the refrigerant and air side comes in.
const (
	Mild     = "mild"
	Moderate = "moderate"
	Severe   = "severe"
)

// Variant is one degree of a fault.
type Variant struct {
	// Degree is mild, moderate or severe; empty where that says nothing.
	Degree  string            `yaml:"degree"`
	Share   float64           `yaml:"share"`
	Modes   map[string]string `yaml:"modes"`
	Effects []Effect          `yaml:"effects"`
	// Alike names the faults no measurement tells from this degree, with the reason.
	Alike map[string]string `yaml:"alike"`
}

// AlikeIn gives the faults nothing tells from a degree of a fault, with the
// reasons.
func (f *Fault) AlikeIn(degree int) map[string]string {
	out := maps.Clone(f.Alike)
	if degree < len(f.Variants) && len(f.Variants[degree].Alike) > 0 {
		if out == nil {
			out = map[string]string{}
		}
		maps.Copy(out, f.Variants[degree].Alike)
	}
	return out
}

// Effect moves a process variable while a condition holds: Add in the unit of
// its case, or Set to a value; Spread replaces the spread.
type Effect struct {
	On     string    `yaml:"on"`
	When   Condition `yaml:"when"`
	Add    *float64  `yaml:"add"`
	Set    *float64  `yaml:"set"`
	Spread float64   `yaml:"spread"`
	Source string    `yaml:"source"`
}

// ProofStep is satisfied by any one of its ways.
type ProofStep struct {
	AnyOf []ProofWay `yaml:"any-of"`
}

// ProofWay is a list of findings, all of which must be in hand.
type ProofWay []Finding

// Finding is a reading within bounds, an observation in a state, or a fact told
// that has a value or lies within bounds.
type Finding struct {
	Reading string  `yaml:"reading"`
	State   string  `yaml:"state"`
	AtLeast *Figure `yaml:"at-least"`
	AtMost  *Figure `yaml:"at-most"`
	// SaturationAtLeast and SaturationAtMost bound a pressure by its saturation
	// temperature, °F, so that one proof does for every refrigerant.
	SaturationAtLeast *Figure `yaml:"saturation-at-least"`
	SaturationAtMost  *Figure `yaml:"saturation-at-most"`
	Observation       string  `yaml:"observation"`
	Fact              string  `yaml:"fact"`
	Is                string  `yaml:"is"`
}

// Bounds are the figures a finding is held against.
func (f *Finding) Bounds() []*Figure {
	var out []*Figure
	for _, b := range []*Figure{f.AtLeast, f.AtMost, f.SaturationAtLeast, f.SaturationAtMost} {
		if b != nil {
			out = append(out, b)
		}
	}
	return out
}

// BySaturation says whether a finding bounds a saturation temperature.
func (f *Finding) BySaturation() bool {
	return f.SaturationAtLeast != nil || f.SaturationAtMost != nil
}

// Check is something that proves the machine well after a repair.
type Check struct {
	// Name is the check in a list; empty is its id read aloud.
	Name    string  `yaml:"name"`
	Ask     string  `yaml:"ask"`
	Reading string  `yaml:"reading"`
	State   string  `yaml:"state"`
	AtLeast *Figure `yaml:"at-least"`
	AtMost  *Figure `yaml:"at-most"`
	// SaturationAtMost bounds a pressure by its saturation temperature, °F.
	SaturationAtMost *Figure `yaml:"saturation-at-most"`

	Observe  string            `yaml:"observe"`
	Pass     []string          `yaml:"pass"` // states that pass
	Fail     []string          `yaml:"fail"`
	Failed   string            `yaml:"failed"` // what to say when it fails
	Cautions []string          `yaml:"cautions"`
	Source   string            `yaml:"source"`
	Needs    map[string]string `yaml:"needs"`
}

// Caution is a warning and what authority it rests on.
type Caution struct {
	Text   string `yaml:"text"`
	Source string `yaml:"source"`
	// Brief is the same in a few words, for a channel of short messages: enough to
	// know what is meant, not to learn it by.
	Brief string `yaml:"brief"`
	// Once marks a caution said once a job.
	Once bool `yaml:"once"`
	// Classes are the refrigerant safety classes (ASHRAE 34) it is for; it is left
	// out where the plate tells another.
	Classes []string `yaml:"classes"`
	// Repair marks a caution said with every repair it belongs to, said before or not.
	Repair bool `yaml:"with-repair"`
	// Needs names facts it is for; it is left out where the unit is told to be
	// otherwise.
	Needs map[string]string `yaml:"needs"`
	// Alarm has the shop told when it is reported.
	Alarm bool `yaml:"alarm"`
	// Stops marks a danger in which nothing more is asked until it is over.
	Stops bool `yaml:"stops"`
	// State is the state the machine is in once the caution is heeded.
	State string `yaml:"state"`
	// Rank orders cautions when there is room for few; lower first.
	Rank int `yaml:"rank"`
}

// Limit is a figure of the trade with its source, by name.
type Limit struct {
	Value float64 `yaml:"value"`
	// From gives the figure from a fact instead, when that fact is known.
	From *Figure `yaml:"from"`
	// By gives it by another fact's value: {refrigerant: {R-22: 25}}.
	By     map[string]map[string]float64 `yaml:"by"`
	Unit   string                        `yaml:"unit"`
	Source string                        `yaml:"source"`
}

// ProcessCase is what a process variable reads while a condition holds.
type ProcessCase struct {
	When Condition `yaml:"when"`
	// Value in the variable's unit, or Saturation in °F turned into a pressure on
	// the dew line of the unit's refrigerant.
	Value      *Figure `yaml:"value"`
	Saturation *Figure `yaml:"saturation"`
	// Bubble as Saturation, on the bubble line: what a liquid pressure lies on.
	Bubble *Figure `yaml:"bubble"`
	Spread float64 `yaml:"spread"`
}

// Equipment is a kind of machine.
type Equipment struct {
	Name string `yaml:"name"`
	// Extends names the equipment this one starts from.
	Extends  string   `yaml:"extends"`
	Circuits []string `yaml:"circuits"`
	// Nodes and Components override or add to the circuits, for one unit's wiring.
	Nodes      map[string]Node   `yaml:"nodes"`
	Components []Component       `yaml:"components"`
	Facts      map[string]string `yaml:"facts"`
	// Process gives the cases of each process variable, by reading id.
	Process map[string][]ProcessCase `yaml:"process"`
	// Spread is how far sound machines differ, by quantity.
	Spread map[string]Spread `yaml:"spread"`
	// Faults not tied to a component's mode that belong to this equipment.
	Faults []string `yaml:"faults"`
	// Checks are what any machine of this kind has to pass after something was
	// changed, whatever it was.
	Checks []string `yaml:"checks"`
	// Flowchart is a fixed top-down order of readings and observations, the
	// yardstick prove measures against.
	Flowchart []string `yaml:"flowchart"`
	// ChangeMinutes is the time to bring the machine from one state to another.
	ChangeMinutes map[string]map[string]float64 `yaml:"change-minutes"`
	Source        string                        `yaml:"source"`
}
