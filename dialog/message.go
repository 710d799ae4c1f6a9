package dialog

import (
	"proveout/dialog/understand"
	"proveout/knowledge"
)

// Who a message is from.
const (
	Tech       = "tech"
	Senior     = "senior"
	Dispatcher = "dispatcher"
)

// Message is one message of a job's talk.
type Message struct {
	From string
	Name string // as the record shows it; may be empty
	Text string
	// Language he is answered in, such as "es"; empty is the one he writes in.
	Language string
}

// The states a job goes through.
const (
	Measuring = "measuring" // readings are still asked for
	Proposed  = "proposed"  // a call waits for a senior
	Confirmed = "confirmed" // a senior has confirmed it
	Repairing = "repairing" // a call that needs no senior, being repaired
	Verifying = "verifying" // the checks after the repair
	Closed    = "closed"
)

// Reply is what the agent answers, for a program; Lines are the same for a
// person, each with its part in the reply so that channels can differ.
type Reply struct {
	Text       string               `json:"text"`
	Understood understand.Utterance `json:"understood"`
	Suspects   []Suspect            `json:"suspects"`
	RuledOut   []RuledOut           `json:"ruled_out"`
	Ask        *Ask                 `json:"ask,omitempty"`
	Call       *Call                `json:"call,omitempty"`
	Measured   []Measured           `json:"measured,omitempty"`
	Cautions   []string             `json:"cautions"`
	Status     string               `json:"status"`

	Lines []Line `json:"-"`
	// Language is the one the reply is in.
	Language string `json:"-"`
}

// Suspect is a fault still standing.
type Suspect struct {
	Fault       string   `json:"fault"`
	Probability float64  `json:"probability"`
	Because     []string `json:"because"`
}

// RuledOut is a fault the evidence excludes, and by what.
type RuledOut struct {
	Fault   string `json:"fault"`
	Because string `json:"because"`
}

// Measured is a reading of the refrigerant or air side beside what a sound machine
// would show under the same conditions.
type Measured struct {
	Reading    knowledge.ReadingID `json:"reading"`
	Value      float64             `json:"value"`
	Normal     float64             `json:"normal"`
	Difference float64             `json:"difference"`
	Unit       string              `json:"unit"`
	// Beyond says that the difference is more than sound machines differ by.
	Beyond bool `json:"beyond"`
}

// Ask is what is asked for next: a reading, an observation or a fact.
type Ask struct {
	Reading     knowledge.ReadingID `json:"reading,omitempty"`
	Observation string              `json:"observation,omitempty"`
	Fact        string              `json:"fact,omitempty"`
	State       string              `json:"state,omitempty"`
	Why         string              `json:"why,omitempty"`
}

// Call is a fault called.
type Call struct {
	Fault             string   `json:"fault"`
	Repair            string   `json:"repair"`
	Proof             []string `json:"proof"`
	NeedsConfirmation bool     `json:"needs_confirmation"`
}

// Part says what a line of a reply is for.
type Part string

// The parts of a reply, in the order a person reads them.
const (
	Safety   Part = "safety"
	Heard    Part = "heard"
	Question Part = "question" // about what was said
	Answer   Part = "answer"   // to what was asked
	Table    Part = "table"    // measured, normal, difference
	Proves   Part = "proves"
	Verdict  Part = "verdict"
	Proof    Part = "proof" // of the verdict
	Next     Part = "next"
	How      Part = "how"
	Means    Part = "means"
	Caution  Part = "caution"
)

// Line is one line of a reply.
type Line struct {
	Part Part
	Text string
	// Brief is the same in fewer words, for a channel of short messages; empty where
	// there are none.
	Brief string `json:",omitempty"`
}
