package dialog

import (
	"fmt"

	"github.com/fxamacker/cbor/v2"
	"github.com/klauspost/compress/s2"

	"proveout/dialog/understand"
	"proveout/rules"
)

// undoKept is how many messages back a kept job can be undone.
const undoKept = 4

// Kept is the job as it is kept between messages: what only the reply needed is
// left out and the way back is cut to a few messages. Whoever keeps jobs keeps
// these, so that one read back from its State answers as one that stayed.
func (j *Job) Kept() *Job { return j.kept(undoKept) }

func (j *Job) kept(back int) *Job {
	n := *j
	n.Asked, n.Call = bare(j.Asked), bareCall(j.Call)
	if n.before = nil; j.before != nil && back > 0 {
		n.before = j.before.kept(back - 1)
	}
	return &n
}

func bare(a *rules.Ask) *rules.Ask {
	if a == nil || a.Outcomes == nil {
		return a
	}
	n := *a
	n.Outcomes = nil
	return &n
}

func bareCall(c *rules.Call) *rules.Call {
	if c == nil || c.Reread == nil {
		return c
	}
	n := *c
	n.Reread = bare(c.Reread)
	return &n
}

// Turns is how many messages the job has been through.
func (j *Job) Turns() int { return j.turns }

// state is a job with everything in it exported, for the encoder. Every field of Job
// is here; a test counts them.
type state struct {
	Status                  string
	Situation               rules.Situation
	Asked                   *rules.Ask
	Check                   string
	Call                    *rules.Call
	Proof                   []string
	Checks, Passed, Skipped []string
	SeniorAsked             bool

	Readings []understand.Reading
	Standing []understand.Standing
	Said     map[string]bool
	RuledOut map[string]bool
	Judged   string
	Led      string
	Halted   bool
	Yes, No  string
	Turns    int
	Language string
	Before   *state
}

// State writes a kept job down; ReadState gives it back. It is written with every
// message where several services share a record, so it is CBOR (RFC 8949), which needs no
// description of the types beside it, packed: the messages back repeat most of it. The
// form may change between versions of the program: what cannot be read is folded again
// from the messages.
func (j *Job) State() ([]byte, error) {
	b, err := cbor.Marshal(j.state())
	if err != nil {
		return nil, fmt.Errorf("writing a job down: %w", err)
	}
	return s2.Encode(nil, b), nil
}

// stateMost is more than the state of any job takes, unpacked: nothing that claims more is
// believed.
const stateMost = 64 << 20

// ReadState reads a job that State wrote.
func ReadState(b []byte) (*Job, error) {
	n, err := s2.DecodedLen(b)
	if err == nil && n > stateMost {
		err = fmt.Errorf("it claims to be %d bytes long", n)
	}
	var s state
	if err == nil {
		if b, err = s2.Decode(nil, b); err == nil {
			err = cbor.Unmarshal(b, &s)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("reading a job's state: %w", err)
	}
	return s.job(), nil
}

func (j *Job) state() *state {
	if j == nil {
		return nil
	}
	return &state{
		Status: j.Status, Situation: j.Situation, Asked: j.Asked, Check: j.Check, Call: j.Call, Proof: j.Proof,
		Checks: j.Checks, Passed: j.Passed, Skipped: j.Skipped, SeniorAsked: j.SeniorAsked,
		Readings: j.readings, Standing: j.standing, Said: j.said, RuledOut: j.ruledOut, Judged: j.judged, Led: j.led, Halted: j.halted, Yes: j.yes, No: j.no, Turns: j.turns, Language: j.language,
		Before: j.before.state(),
	}
}

func (s *state) job() *Job {
	if s == nil {
		return nil
	}
	j := &Job{
		Status: s.Status, Situation: s.Situation, Asked: s.Asked, Check: s.Check, Call: s.Call, Proof: s.Proof,
		Checks: s.Checks, Passed: s.Passed, Skipped: s.Skipped, SeniorAsked: s.SeniorAsked,
		readings: s.Readings, standing: s.Standing, said: s.Said, ruledOut: s.RuledOut, judged: s.Judged, led: s.Led, halted: s.Halted, yes: s.Yes, no: s.No, turns: s.Turns, language: s.Language,
		before: s.Before.job(),
	}
	in := &j.Situation
	filled(&in.Facts)
	filled(&in.Lacks)
	filled(&in.CannotTake)
	filled(&in.Rechecked)
	filled(&in.LetBe)
	filled(&j.said)
	filled(&j.ruledOut)
	return j
}

// filled makes a map that the encoder left out because it was empty.
func filled[V any](m *map[string]V) {
	if *m == nil {
		*m = map[string]V{}
	}
}
