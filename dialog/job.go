package dialog

import (
	"maps"
	"slices"

	"proveout/dialog/understand"
	"proveout/rules"
)

// Job is the state of one talk. It is never changed in place: Turn gives a new
// one.
type Job struct {
	Status string
	// Situation is what the engine is told.
	Situation rules.Situation
	// Asked is what stands asked; Check the check it belongs to while verifying.
	Asked *rules.Ask
	Check string
	// Call is the call made and not yet behind us.
	Call *rules.Call
	// Proof is what proved it, in words, as it stood when the call was made.
	Proof []string
	// Checks are those still to be passed, Passed those that were, Skipped those the
	// technician could not or would not take.
	Checks, Passed, Skipped []string
	// SeniorAsked: the technician wants a senior.
	SeniorAsked bool

	readings []understand.Reading  // every reading, for corrections
	standing []understand.Standing // figures asked about and not placed yet
	said     map[string]bool       // cautions said on this job
	ruledOut map[string]bool       // faults already named as ruled out
	judged   string                // what was last said of the charge
	led      string                // the suspects last named as leading, as they were named
	halted   bool                  // told to stop: no question stands until it is safe
	yes, no  string                // what yes and no to the check asked mean
	turns    int
	language string // the one the technician writes; empty is English
	before   *Job   // before the last message that changed the evidence
}

// Language is the one the technician writes; empty is English.
func (j *Job) Language() string { return j.language }

func (j *Job) clone() *Job {
	n := *j
	s := &n.Situation
	s.Evidence = slices.Clone(s.Evidence)
	s.Facts = maps.Clone(s.Facts)
	s.Lacks, s.CannotTake, s.Rechecked = maps.Clone(s.Lacks), maps.Clone(s.CannotTake), maps.Clone(s.Rechecked)
	s.LetBe = maps.Clone(s.LetBe)
	s.Repaired, s.Overruled = slices.Clone(s.Repaired), slices.Clone(s.Overruled)
	n.Checks, n.Passed, n.Skipped = slices.Clone(j.Checks), slices.Clone(j.Passed), slices.Clone(j.Skipped)
	n.readings = slices.Clone(j.readings)
	n.said, n.ruledOut = maps.Clone(j.said), maps.Clone(j.ruledOut)
	return &n
}

// ruledOn says whether a senior has confirmed or overruled.
func (j *Job) ruledOn() bool {
	return j.Status == Confirmed || j.Situation.Ruled != "" || len(j.Situation.Overruled) > 0
}

// context is what the talk lends to the next message. Until a reading has told where
// the technician is, he is taken to be where he was sent to measure.
func (a *Agent) context(j *Job) understand.Context {
	c := understand.Context{Facts: j.Situation.Facts, Earlier: j.readings, Place: j.Situation.Place, Standing: j.standing}
	if j.Asked != nil && !j.halted {
		c.Asked, c.AskedState = j.Asked.Reading, j.Asked.State
		c.AskedObservation, c.AskedFact = j.Asked.Observation, j.Asked.Fact
	}
	if m := a.base.Measurements[c.Asked]; m != nil && c.Place == "" {
		c.Place = m.Place
	}
	if j.Check != "" {
		c.Yes, c.No = j.yes, j.no
	}
	return c
}
