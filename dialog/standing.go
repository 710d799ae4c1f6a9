package dialog

import (
	"math"
	"slices"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// Standing is where a job stands, told whole: for somebody who looks at it and did not
// follow the talk, so that nothing is left out for having been said before.
type Standing struct {
	Suspects []Suspect
	RuledOut []RuledOut
	Ask      *Ask
	Call     *Call
	// Lines say what is next: the question and how to take it, or the call with its
	// repair; with the cautions.
	Lines []Line
	// Answers are what the answers to the question would point to, the likeliest first.
	Answers  []Meaning
	Evidence []Evidence
	// Measured is every reading of the refrigerant and air side beside a sound
	// machine's.
	Measured []Measured
	// Charge is what the published check makes of the charge; empty before its
	// readings are in.
	Charge string
	// Missing are the readings and sightings the leading suspect's proof still lacks.
	Missing []string
	// Checks are those still to be passed after the repair, Passed those that were.
	Checks, Passed []string
	// Facts are those told of the equipment, in words; Known the same by id, with the
	// targets that follow from them.
	Facts []string
	Known map[string]string
}

// Meaning is one answer to a question and the suspects it would leave leading.
type Meaning struct {
	Answer      string
	Probability float64
	Faults      []string // plain names
}

// Evidence is one reading or sighting as it stands now.
type Evidence struct {
	Reading     knowledge.ReadingID
	Observation string
	Seen        string
	State       string
	Value       float64 // in the unit readings of its quantity are kept in
	Text        string
	// Saturation is the temperature, °F, a pressure stands for on the unit's
	// refrigerant; NaN where it stands for none.
	Saturation float64
	// Made: it was worked out from other readings.
	Made bool
	// Odd: it fits badly with all the rest.
	Odd bool
}

// Standing works out where a job stands, in the agent's language. job is not changed.
func (a *Agent) Standing(job *Job) *Standing {
	t := &turn{Agent: a, job: job.clone()}
	t.job.said = map[string]bool{}
	t.model = t.Agent.model(t.job.Situation.Facts)
	t.d = t.model.Diagnose(&t.job.Situation)
	t.stands()
	t.nextStep()
	r := t.reply()
	out := &Standing{
		Suspects: r.Suspects, RuledOut: r.RuledOut, Ask: r.Ask, Call: r.Call, Lines: t.lines,
		Evidence: t.evidenceInWords(), Measured: t.compared(), Missing: t.missing(), Facts: t.factsInWords(), Known: t.facts(),
	}
	if j := t.job; j.Status == Verifying {
		out.Checks, out.Passed = t.checksInWords(j.Checks), t.checksInWords(j.Passed)
	}
	if asked := t.job.Asked; asked != nil && r.Call == nil {
		out.Answers = t.meanings(asked)
	}
	if t.d.Charge != nil {
		out.Charge = t.chargeVerdict(t.d.Charge)
	}
	return out
}

// stands puts the question or the call as it was left beside what the engine makes of
// the evidence: the question with the answers to expect, the call with its proof.
func (t *turn) stands() {
	j := t.job
	if j.Call != nil {
		if again := t.d.Call; again != nil && again.Fault == j.Call.Fault && len(again.Proof) > 0 {
			j.Proof = t.proof(again)
		}
		t.d.Call = j.Call
	}
	if a := t.d.Ask; a != nil && j.Asked != nil && askedKey(a) == askedKey(j.Asked) && a.Purpose == j.Asked.Purpose {
		j.Asked = a
	}
}

// MinutesToCall is the expected minutes of measuring until a call.
func (a *Agent) MinutesToCall(job *Job) float64 {
	return a.model(job.Situation.Facts).MinutesToCall(&job.Situation)
}

// In is the agent that speaks a language; the English one where there is none.
func (a *Agent) In(language string) *Agent {
	if in := a.tongues[language]; in != nil {
		return in
	}
	return a.tongues[english]
}

// Told says what a message told: its readings, sightings and facts, in words.
func (a *Agent) Told(u *understand.Utterance) []string {
	var out []string
	for i := range u.Readings {
		if r := &u.Readings[i]; !r.Impossible {
			out = append(out, a.placed(&rules.Item{Reading: r.Reading, State: r.State}, a.shown(r)))
		}
	}
	for _, o := range u.Observations {
		out = append(out, a.item(&rules.Item{Subject: o.Subject, Seen: o.State}))
	}
	for _, f := range u.Facts {
		out = append(out, a.fact(f.Fact, f.Value))
	}
	return out
}

// Figure is a value of a quantity with its unit, as a person reads it.
func (a *Agent) Figure(quantity string, v float64) string { return a.value(quantity, v) }

// Row is a reading's name in a table.
func (a *Agent) Row(id knowledge.ReadingID) string { return a.row(id) }

func (a *Agent) fact(id, value string) string {
	name := plain(id)
	if k := a.base.Facts[id]; k != nil {
		name = k.Name
	}
	return a.say("fact", "name", name, "value", a.known(id, value))
}

func (t *turn) factsInWords() []string {
	var out []string
	for id, v := range t.job.Situation.Facts {
		out = append(out, t.fact(id, v))
	}
	slices.Sort(out)
	return out
}

func (t *turn) checksInWords(ids []string) []string {
	out := make([]string, 0, len(ids))
	for _, id := range ids {
		out = append(out, t.check(id))
	}
	return out
}

func (t *turn) evidenceInWords() []Evidence {
	given := len(t.job.Situation.Evidence)
	out := make([]Evidence, 0, len(t.evidence()))
	for i := range t.evidence() {
		it := &t.evidence()[i]
		e := Evidence{
			Reading: it.Reading, Observation: it.Subject, Seen: it.Seen, State: it.State, Value: it.Value, Text: t.item(it),
			Saturation: math.NaN(), Made: i >= given, Odd: slices.Contains(t.d.Odd, i),
		}
		if it.Reading.Quantity() == "pressure" && t.job.Situation.Facts["refrigerant"] != "" {
			if at, ok := t.model.Saturation(it.Reading, it.Value); ok {
				e.Saturation = at
			}
		}
		out = append(out, e)
	}
	return out
}

// missing names what the leading suspect's proof lacks.
func (t *turn) missing() []string {
	var out []string
	for _, f := range t.d.Missing {
		switch {
		case f.Reading != "":
			out = append(out, t.name(knowledge.ReadingID(f.Reading)))
		case f.Observation != "":
			out = append(out, t.item(&rules.Item{Subject: f.Observation, Seen: f.Is}))
		case f.Fact != "" && t.base.Facts[f.Fact] != nil:
			out = append(out, t.base.Facts[f.Fact].Name)
		}
	}
	return out
}

// Said is everything the lines say in a part.
func (s *Standing) Said(p Part) string {
	var out []string
	for _, l := range s.Lines {
		if l.Part == p {
			out = append(out, l.Text)
		}
	}
	return strings.Join(out, "\n")
}
