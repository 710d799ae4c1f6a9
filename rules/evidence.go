package rules

import (
	"proveout/knowledge"
	"proveout/rules/charge"
)

// Item is one piece of evidence: a reading, or something seen.
type Item struct {
	// Reading and Value, in the quantity's unit, infinite for an open circuit; or
	// Subject and Seen.
	Reading knowledge.ReadingID
	Value   float64
	Subject string
	Seen    string
	// State of the machine it belongs to; empty when nobody told.
	State string
	// Approximate marks a rounded or estimated value; Low and High are the ends of
	// a range as said, equal when none was.
	Approximate bool
	Low, High   float64
}

// Situation is everything the engine is told about a job. Same situation, same
// model, same diagnosis.
type Situation struct {
	Evidence []Item
	// Facts told about the equipment.
	Facts map[string]string
	// Lacks are instruments not at hand; CannotTake readings or observation
	// subjects out of reach or skipped.
	Lacks      map[string]bool
	CannotTake map[string]bool
	// LetBe are the keys of doubted answers that were asked again and got no second
	// answer: they are not asked a third time.
	LetBe map[string]bool
	// State and Place are where the machine and the technician are now.
	State, Place string
	// Repaired are faults already repaired on this job, Overruled those a senior
	// has ruled out, Ruled one he has named.
	Repaired  []string
	Overruled []string
	Ruled     string
	// Reread is the fault whose deciding reading was taken again; its call does not
	// ask for another.
	Reread string
	aside  []bool // evidence set aside while in doubt
	// Rechecked counts how often a test was repeated, by Ask.Key.
	Rechecked map[string]int
}

// Suspect is a fault and how likely it is.
type Suspect struct {
	Fault       string
	Probability float64
	// Because are places in the evidence that speak for it, strongest first.
	Because []int
}

// Excluded is a fault the evidence rules out.
type Excluded struct {
	Fault string
	// By is the place in the evidence that speaks loudest against it.
	By int
}

// Purpose says why a test is asked for.
type Purpose string

// The purposes of a test.
const (
	ToNarrow  Purpose = "narrow"  // it tells suspects apart
	ToProve   Purpose = "prove"   // the call needs it in hand
	ToRecheck Purpose = "recheck" // an earlier answer does not fit the rest
	ToConfirm Purpose = "confirm" // a call hangs on this one answer
)

// Ask is the next thing worth knowing: a reading, an observation or a fact.
type Ask struct {
	Reading     knowledge.ReadingID
	Observation string
	Fact        string
	State       string
	Purpose     Purpose
	// Minutes it is expected to take, with changing state and place.
	Minutes float64
	// Outcomes are the answers to expect and what each would leave standing.
	Outcomes []Outcome
	// For is the suspect it would prove, when that is the purpose.
	For string
	// Doubts is the evidence an answer would confirm or replace (recheck, confirm).
	Doubts int
}

// Outcome is one answer a test may give.
type Outcome struct {
	Value       float64
	Seen        string
	Probability float64
	// Leaves are the likeliest faults after this answer, likeliest first.
	Leaves []Suspect
}

// Call is a fault proven.
type Call struct {
	Fault       string
	Probability float64
	// Proof are the places in the evidence that prove it.
	Proof []int
	// Ruled: a senior's word stands in for the proof.
	Ruled bool
	// Reread, when set, is the one answer the call hangs on, to be read once more
	// before anything is changed.
	Reread *Ask
	// Unsure: nothing left to measure would make it surer, and its probability is
	// below the bar; a senior confirms it.
	Unsure bool
}

// Diagnosis is what the engine makes of a situation. Exactly one of Ask and Call
// is set, unless Stuck.
type Diagnosis struct {
	// Evidence is the situation's, then what the engine made of it; places in the
	// evidence are places here.
	Evidence []Item
	// Facts are those told, and the targets that follow from them.
	Facts    map[string]string
	Suspects []Suspect
	RuledOut []Excluded
	Ask      *Ask
	Call     *Call
	// Stuck: nothing that can still be taken would tell the suspects apart or
	// complete the proof; a senior has to look.
	Stuck bool
	// Missing names the proof findings still open for the leading suspect.
	Missing []knowledge.Finding
	// Charge is the charge held to the published check of the metering device, nil
	// before its readings are in.
	Charge *charge.Verdict
	// Doubts are readings that cannot be right together; they were not used.
	Doubts []Doubt
	// Compared holds the process readings in the evidence against a sound machine
	// under the same conditions.
	Compared []Compared
	// Odd are places in the evidence that fit badly with all the rest.
	Odd []int
	// Entropy is the uncertainty left over the faults, bits.
	Entropy float64
}

// Compared is a process reading beside what a sound machine would show.
type Compared struct {
	// Item is its place in the evidence.
	Item int
	// Normal and Spread, one standard deviation, in the reading's unit.
	Normal, Spread float64
}
