package understand

import (
	"encoding/json"
	"fmt"
	"math"

	"proveout/knowledge"
)

// Utterance is what a message was taken to say.
type Utterance struct {
	Readings     []Reading     `json:"readings"`
	Observations []Observation `json:"observations"`
	Facts        []Fact        `json:"facts"`
	Intents      []string      `json:"intents"`
	Unclear      []Unclear     `json:"unclear"`

	// Present are points said to have power without a figure ("hot", "got power",
	// "yes" to an asked voltage): noted, and the figure is asked for.
	Present []knowledge.ReadingID `json:"-"`
	// Machine is the state the message says the machine is in, or "": "power off".
	Machine string `json:"-"`
	// Puzzles are clauses that tell something of a part in words nobody knows: they
	// are said back, not passed over.
	Puzzles []string `json:"-"`
	// TakenBack are readings of the record the message says were somewhere else: "I
	// meant suction" after a figure for the liquid side.
	TakenBack []knowledge.ReadingID `json:"-"`
	// Lacks are instruments the person says he does not have, by the names the
	// measurements use; CannotReach are readings he says he cannot take. Both
	// come with the intent cannot-measure; both empty means the asked one.
	Lacks       []string `json:"-"`
	CannotReach []string `json:"-"`
	// Hazards are ids of hazards named: burning-smell, gas-smell, shock, smoke,
	// refrigerant-release.
	Hazards []string `json:"-"`
	// Language is the language most of its words are in: "en" or "es".
	Language string `json:"-"`
	// Standing are the figures that were asked about and are not placed yet.
	Standing []Standing `json:"-"`
	// Wanted are readings whose value is asked for: "what's my superheat".
	Wanted []knowledge.ReadingID `json:"-"`
	// Away: the person says that he goes off for a while.
	Away bool `json:"-"`
	// Foreign: so many of its words are in no language the lexicon has that what was
	// found in it is asked about and not taken.
	Foreign bool `json:"-"`
	// Unread is how many bytes at the end of an endless message were not read.
	Unread int `json:"-"`
}

// Reading is one value at one point, in the unit knowledge keeps it in.
type Reading struct {
	Reading     knowledge.ReadingID `json:"reading"`
	Value       Value               `json:"value"`
	Unit        string              `json:"unit"`
	Text        string              `json:"text"` // the words it was read from, as written
	Approximate bool                `json:"approximate"`
	State       string              `json:"state,omitempty"`

	// Low and High are the ends of a range as said, in Unit; equal when none was.
	Low, High float64 `json:"-"`
	// Said is the figure and unit as written when it was converted: "810 kPa".
	Said string `json:"-"`
	// Impossible marks a value outside what the quantity can be: it is questioned
	// and never used.
	Impossible bool `json:"-"`
}

// Value is a number, infinite for an open circuit.
type Value float64

// MarshalJSON writes an infinite value as "inf".
func (v Value) MarshalJSON() ([]byte, error) {
	if math.IsInf(float64(v), 1) {
		return []byte(`"inf"`), nil
	}
	return json.Marshal(float64(v))
}

// UnmarshalJSON reads a number or "inf".
func (v *Value) UnmarshalJSON(b []byte) error {
	if string(b) == `"inf"` {
		*v = Value(math.Inf(1))
		return nil
	}
	var f float64
	if err := json.Unmarshal(b, &f); err != nil {
		return fmt.Errorf("reading a value: %w; write a number or \"inf\"", err)
	}
	*v = Value(f)
	return nil
}

// Observation is a thing seen: a subject and the state it was seen in.
type Observation struct {
	Subject string `json:"subject"`
	State   string `json:"state"`
}

// Fact is a thing true of the equipment.
type Fact struct {
	Fact  string `json:"fact"`
	Value string `json:"value"`
}

// Unclear is a number or phrase that could not be placed, with its likely
// meanings as reading ids.
type Unclear struct {
	Text    string   `json:"text"`
	Options []string `json:"options"`

	// Scales are the names of the units it may be in, when that and not the reading is
	// open.
	Scales []string `json:"-"`
}

// Context is what the talk so far lends to a message. Its zero value is the
// start of a job.
type Context struct {
	// Asked is the reading last asked for; AskedState its machine state.
	Asked      knowledge.ReadingID
	AskedState string
	// AskedObservation and AskedFact are set when one of those was asked instead.
	AskedObservation string
	AskedFact        string
	// Yes and No are the states a bare yes and no to the asked observation mean,
	// where the question was put other than the observation puts it.
	Yes, No string
	// Facts known about the equipment.
	Facts map[string]string
	// Earlier are the readings in the record, oldest first.
	Earlier []Reading
	// Place is where the talk is: outdoor unless settled otherwise.
	Place string
	// Standing are the figures asked about before that are not placed yet.
	Standing []Standing

	// scale is what a standing figure's degrees were said to be.
	scale string
}
