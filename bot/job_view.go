package bot

import "time"

// JobView is a job as a page shows it to one person, in the language he reads. Nothing
// in it is changed once it is given; viewers share its parts.
type JobView struct {
	Row
	Viewer Member
	// Version changes whenever anything in the view but the minutes does, so that what
	// was made of it may be kept.
	Version string
	// Language is the one it is in.
	Language string
	Open     bool
	Opened   time.Time
	Closed   time.Time
	Proven   bool // closed, with its cause proven

	Talk     []Spoken  // the conversation, in order
	Steps    []Step    // the messages that told something, and what each did
	Chart    []Course  // the suspects over the steps
	Timeline []Happens // who ruled, took, assigned, closed, and when

	Suspects []SuspectView
	Excluded []ExcludedView
	Evidence []EvidenceView // what is known now
	Facts    []string       // of the equipment, in words
	Missing  []string       // what the leading suspect's proof still lacks
	Next     *NextView      // the question that stands; nil with a call or when closed
	Call     *CallView      // the call that stands; else nil
	Gauges   []Gauge        // the refrigerant and air side, beside a sound machine's
	Charge   string         // what the published check makes of the charge
	Checks   []CheckView    // after the repair
	Cautions []string       // for what is next
}

// Spoken is one message of the conversation.
type Spoken struct {
	Seq int64
	At  time.Time
	// Late: it was sent, At, before what it stands after, and came in where it stands.
	Late bool
	Who  Member // zero for the agent
	Role Role   // the sender's when he wrote it; empty for the agent
	// Channel is where it was said; Key its id there.
	Channel string
	Key     Key
	Text    string
	Lines   []Line // the parts of an answer, where it still comes out as it was given
	Files   []File
	// Silent: the agent worked it out and kept it to itself.
	Silent bool
	// Edited and Deleted: the sender changed it after, or took it back.
	Edited, Deleted bool
	Forgotten       bool // erased on request
}

// Step is a message that told something, or a senior's ruling, and what it did.
type Step struct {
	Seq      int64
	At       time.Time
	Who      Member
	Told     []string // readings, sightings and facts, in words
	Suspects []Share  // after it, likeliest first
	RuledOut []string // newly, by their names in a list
	Status   string   // after it
	Progress bool     // it told something new
}

// Share is a fault with its probability.
type Share struct {
	Fault, Name string // its id and its name in a list
	Probability float64
}

// Course is a suspect's probability after each step; 0 where it was too small to name.
type Course struct {
	Fault, Name string
	Points      []float64
}

// Happens is something done to the job.
type Happens struct {
	Seq  int64
	At   time.Time
	Who  Member // zero for the agent and the clock
	Kind EventKind
	Text string
}

// SuspectView is a fault that still stands, with the evidence that speaks for it.
type SuspectView struct {
	Share
	FullName string
	Part     string
	Because  []string
}

// ExcludedView is a fault the evidence rules out.
type ExcludedView struct {
	Fault, Name string
	By          string
}

// EvidenceView is one reading or sighting as it stands.
type EvidenceView struct {
	Reading     string // its id; empty for a sighting
	Observation string
	Seen        string
	State       string // of the machine: calling, standing, de-energised
	Value       float64
	Unit        string
	Text        string
	Seq         int64 // the message that told it; 0 where it was worked out of others
	Odd         bool  // it does not fit the rest
}

// NextView is the question that stands.
type NextView struct {
	Reading, Observation, Fact string // one of them: its id
	State                      string
	Ask                        string // what is wanted, in words
	How                        string // meter setting, and where each lead goes
	Why                        string
	Answers                    []AnswerView
	Cautions                   []string
	Buttons                    []Button // the usual answers
}

// AnswerView is an answer to expect and what it would leave leading.
type AnswerView struct {
	Answer      string
	Probability float64
	Faults      []string
}

// CallView is the call that stands.
type CallView struct {
	Share
	FullName string
	Proof    []string
	Text     []string // the repair, the part, the checks, in sentences
	Part     string
	// Needs: a senior has to confirm it. By is who has; zero for nobody.
	Needs bool
	By    Member
}

// Gauge is a reading of the refrigerant or air side.
type Gauge struct {
	Reading, Name string
	Quantity      string
	Value         float64
	Unit          string // as a person reads it
	Text          string
	// Normal is what a sound machine under the same conditions would show; Target
	// what a figure should come to by the plate or the published table.
	Normal, Target *float64
	NormalText     string
	TargetText     string
	// Saturation is the temperature, °F, a pressure stands for.
	Saturation *float64
	// Beyond: off by more than sound machines differ.
	Beyond   bool
	Standing bool // read on the standing machine
}

// CheckView is a check after the repair.
type CheckView struct {
	Text   string
	Passed bool
}
