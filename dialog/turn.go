package dialog

import (
	"maps"
	"slices"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// turn is one message being answered.
type turn struct {
	*Agent
	job    *Job
	msg    Message
	read   understand.Utterance // the message as it was read
	u      understand.Utterance // what of it counts, by who wrote it
	model  *rules.Model
	d      *rules.Diagnosis
	lines  []Line
	danger bool // a hazard that stops the work was told
	// resumed: the message before told a hazard, and the work was to stop.
	resumed bool
	ruled   bool // a senior confirmed or overruled
	// settled: the answer a call hangs on was given once more, and it stands.
	settled bool
	// askedBefore: the same was asked in the reply before, so its how and what its
	// answers mean need not be said again.
	askedBefore bool
}

// Turn answers a message. job is not changed; the returned one follows it.
func (a *Agent) Turn(job *Job, m Message) (*Job, *Reply) {
	t := &turn{Agent: a, job: job.clone(), msg: m, resumed: job.halted}
	t.job.turns++
	ctx := a.asked(a.context(job))
	if m.From != Tech {
		ctx.Standing = nil // whose figures they are says what they are
	}
	t.read = a.reader.Understand(m.Text, ctx)
	t.u = Heed(m.From, t.read)
	if m.From == Tech {
		t.job.standing = t.read.Standing
	}
	t.speak()
	t.hazards()
	switch {
	case job.Status == Closed && !t.opens():
		t.add(Verdict, "already-closed")
	default:
		t.take(job)
	}
	return t.job, t.reply()
}

// opens says whether a message starts the next job after a closed one: a
// complaint, or readings of a machine that is down again.
func (t *turn) opens() bool {
	if !t.has("open-job") {
		return false
	}
	t.job = t.OpenIn(t.job.language)
	return true
}

// take absorbs the message and works out the reply.
func (t *turn) take(before *Job) {
	if t.takeBack(before) {
		return
	}
	in := t.absorb(t.job, &t.u)
	t.hear(in)
	if a := before.Asked; a != nil && a.Purpose == rules.ToRecheck && in.changed && before.Situation.Rechecked[a.Key()] == t.job.Situation.Rechecked[a.Key()] {
		t.job.Situation.LetBe[a.Key()] = true // other things were told instead
	}
	defer t.remember(before)
	t.model = t.Agent.model(t.job.Situation.Facts)
	if t.msg.From == Senior {
		t.senior()
	}
	t.cannot()
	t.progress(in)
	t.diagnose()
	t.doubted()
	t.answer()
	t.table(t.measured())
	t.charge()
	if t.job.Status == Measuring {
		t.provesWhat(in)
		t.undecided()
	}
	// The power cut on being told to is no word yet that it is safe.
	t.job.halted = t.danger || t.resumed && t.u.Machine == knowledge.DeEnergised && !t.says()
	if t.job.halted {
		t.add(Next, "stop-here")
	} else {
		t.nextStep()
		t.beware()
	}
	t.job.ruledOut = t.excluded()
}

// Heed keeps of a message what its writer may tell: the technician is at the
// machine; a senior's figures count and his rulings, not what he supposes; others
// only ask.
func Heed(from string, u understand.Utterance) understand.Utterance {
	if from == Tech {
		return u
	}
	u.Observations, u.Unclear, u.Present, u.Machine, u.Puzzles = nil, nil, nil, "", nil
	own := []string{"skip", "cannot-measure", "report-done", "undo", "correct"}
	if from != Senior {
		u.Readings, u.Facts = nil, nil
		own = append(own, "close-job")
	}
	u.Intents = slices.DeleteFunc(slices.Clone(u.Intents), func(i string) bool { return slices.Contains(own, i) })
	return u
}

// remember keeps the way back over a message that moved the job. A senior's word
// ends it.
func (t *turn) remember(before *Job) {
	j := t.job
	moved := func(a, b *Job) bool {
		return a.Status != b.Status || a.Check != b.Check || len(a.Skipped) != len(b.Skipped) ||
			!maps.Equal(a.Situation.CannotTake, b.Situation.CannotTake) || !maps.Equal(a.Situation.Lacks, b.Situation.Lacks) ||
			!maps.Equal(a.Situation.Facts, b.Situation.Facts) || !slices.Equal(a.Situation.Evidence, b.Situation.Evidence) ||
			len(a.readings) != len(b.readings)
	}
	switch {
	case t.ruled:
		j.before = nil
	case t.msg.From == Tech && moved(before, j):
		j.before = before
	}
}

func (t *turn) has(intent string) bool { return slices.Contains(t.u.Intents, intent) }

// add adds a line; a phrase may have a brief one beside it.
func (t *turn) add(p Part, phrase string, pairs ...string) {
	if text := t.say(phrase, pairs...); text != "" {
		t.lines = append(t.lines, Line{Part: p, Text: text, Brief: t.say(phrase+"-brief", pairs...)})
	}
}

// hazards answer first, before any diagnosis.
func (t *turn) hazards() {
	for _, h := range t.u.Hazards {
		if c := t.base.Cautions[h]; c != nil {
			t.lines = append(t.lines, Line{Part: Safety, Text: c.Text, Brief: c.Brief})
			t.job.said[h] = true
			t.danger = t.danger || c.Stops
			if c.State != "" {
				t.job.Situation.State = c.State
			}
		}
	}
}

// takeBack undoes the last message that changed the evidence, or the last reading
// when the message only says that it was wrong.
func (t *turn) takeBack(before *Job) bool {
	nothingNew := len(t.u.Readings)+len(t.u.Observations)+len(t.u.Facts)+len(t.u.Unclear) == 0
	undo := t.has("undo")
	scratch := t.has("correct") && nothingNew
	if !undo && !scratch {
		return false
	}
	switch gone := t.gone(before); {
	case scratch && len(before.standing) > 0: // it is the figure asked about that was wrong
		t.job.standing = nil
		t.add(Heard, "undone", "what", t.both(asked(before.standing)))
	case before.before == nil && scratch:
		t.add(Answer, "correct-nothing")
	case before.before == nil && before.ruledOn():
		t.add(Answer, "undone-ruled")
	case before.before == nil:
		t.add(Answer, "undone-nothing")
	default:
		t.job = before.before.clone()
		t.job.turns, t.job.said = before.turns+1, maps.Clone(before.said)
		if len(gone) == 0 {
			t.add(Heard, "undone-step")
		} else {
			t.add(Heard, "undone", "what", t.both(gone))
		}
	}
	t.model = t.Agent.model(t.job.Situation.Facts)
	t.diagnose()
	t.nextStep()
	return true
}

// asked are the figures of questions still standing.
func asked(standing []understand.Standing) []string {
	out := make([]string, len(standing))
	for i := range standing {
		out[i] = standing[i].Text
	}
	return out
}

// gone is what undoing would take back.
func (t *turn) gone(j *Job) []string {
	if j.before == nil {
		return nil
	}
	return t.difference(j.before, j)
}

// difference names the evidence and facts a later job has and an earlier lacks.
func (t *turn) difference(earlier, later *Job) []string {
	var out []string
	for i := range later.Situation.Evidence {
		it := &later.Situation.Evidence[i]
		if !slices.Contains(earlier.Situation.Evidence, *it) {
			out = append(out, t.item(it))
		}
	}
	for f, v := range later.Situation.Facts {
		if earlier.Situation.Facts[f] != v {
			name := f
			if k := t.base.Facts[f]; k != nil {
				name = k.Name
			}
			out = append(out, t.say("fact", "name", name, "value", t.known(f, v)))
		}
	}
	if len(out) == 0 { // read again, and the same
		for i := len(earlier.readings); i < len(later.readings); i++ {
			r := &later.readings[i]
			out = append(out, t.placed(&rules.Item{Reading: r.Reading, State: r.State}, t.shown(r)))
		}
	}
	slices.Sort(out)
	return out
}

// hear says back what was taken, and what is doubtful in it.
func (t *turn) hear(in absorbed) {
	if len(in.heard) > 0 {
		t.add(Heard, "heard", "what", join(in.heard))
	}
	t.lines = append(t.lines, in.notes...)
}

// cannot notes what the technician cannot or will not measure.
func (t *turn) cannot() {
	s, asked := &t.job.Situation, t.job.Asked
	if t.has("cannot-measure") {
		for _, tool := range t.u.Lacks {
			s.Lacks[tool] = true
			t.add(Heard, "lacks", "what", t.tool(tool))
		}
		for _, id := range t.u.CannotReach {
			t.leaveOut(id, "cannot", t.optionName(id))
		}
		if len(t.u.Lacks)+len(t.u.CannotReach) == 0 && asked != nil {
			t.leaveOut(askedKey(asked), "cannot", t.askedName(asked))
		}
	}
	if t.has("skip") && asked != nil {
		t.leaveOut(askedKey(asked), "skipped", t.askedName(asked))
	}
}

func (t *turn) leaveOut(key, phrase, name string) {
	t.job.Situation.CannotTake[key] = true
	t.add(Heard, phrase, "what", name)
}

func askedKey(a *rules.Ask) string {
	if a.Fact != "" {
		return a.Fact
	}
	return a.Key()
}

// askedName names what is asked, for a sentence.
func (t *turn) askedName(a *rules.Ask) string {
	switch {
	case a.Fact != "":
		return t.base.Facts[a.Fact].Name
	case a.Observation != "":
		return t.subject(a.Observation)
	}
	return t.name(a.Reading)
}

// diagnose weighs the job as it stands. After a repair the checks lead, not the
// engine.
func (t *turn) diagnose() {
	if t.model == nil {
		t.model = t.Agent.model(t.job.Situation.Facts)
	}
	t.d = t.model.Diagnose(&t.job.Situation)
	if t.job.Status != Measuring {
		return
	}
	last := t.job.Asked
	t.job.Asked, t.job.Call = t.d.Ask, t.d.Call
	t.askedBefore = last != nil && t.d.Ask != nil && askedKey(last) == askedKey(t.d.Ask) && last.Purpose == t.d.Ask.Purpose
	switch {
	case t.d.Call != nil:
		t.job.Asked = t.d.Call.Reread
		t.job.Proof = t.proof(t.d.Call)
		t.job.Status = Repairing
		if t.needsSenior(t.d.Call) {
			t.job.Status = Proposed
		}
	case t.d.Stuck:
		t.leftOver()
	}
}

func (t *turn) needsSenior(c *rules.Call) bool {
	f := t.base.Faults[c.Fault]
	return !c.Ruled && (c.Unsure || f != nil && f.NeedsConfirmation)
}

// leftOver asks again for what was skipped or out of reach, when only that would
// help; else the likeliest goes to a senior, unproven and said to be.
func (t *turn) leftOver() {
	s := t.job.Situation
	s.CannotTake, s.Lacks = nil, nil
	again := t.model.Diagnose(&s)
	if again.Ask != nil {
		t.job.Asked = again.Ask
		t.d.Ask = again.Ask
		return
	}
	if len(t.d.Suspects) > 0 {
		top := t.d.Suspects[0]
		t.job.Call = &rules.Call{Fault: top.Fault, Probability: top.Probability, Unsure: true}
		t.job.Proof = nil
		t.job.Status = Proposed
		t.d.Call = t.job.Call
	}
}

// excluded are the faults ruled out now.
func (t *turn) excluded() map[string]bool {
	out := map[string]bool{}
	if t.d != nil {
		for _, x := range t.d.RuledOut {
			out[x.Fault] = true
		}
	}
	return out
}

// evidence is the job's as the diagnosis saw it, with what was made of readings.
func (t *turn) evidence() []rules.Item {
	if t.d == nil {
		return t.job.Situation.Evidence
	}
	return t.d.Evidence
}

// items lists pieces of evidence by their places.
func (t *turn) items(at []int) []string {
	out := make([]string, 0, len(at))
	for _, i := range at {
		if i < len(t.evidence()) {
			out = append(out, t.item(&t.evidence()[i]))
		}
	}
	return out
}
