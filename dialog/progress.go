package dialog

import (
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// progress moves the job on: the repair reported, a check answered, the job
// closed.
func (t *turn) progress(in absorbed) {
	j := t.job
	switch {
	case t.has("report-done") && j.Status != Verifying && j.Status != Closed:
		t.repaired()
		t.checkAnswered(in)
	case j.Status == Verifying:
		t.checkAnswered(in)
	}
	if t.has("close-job") && j.Status != Closed {
		t.closeEarly()
	}
	if t.has("request-senior") && !j.SeniorAsked {
		j.SeniorAsked = true
		t.add(Answer, "senior-asked")
	}
	if t.msg.From == Tech && t.has("confirm") {
		switch {
		case j.Status == Proposed:
			t.add(Answer, "not-yours")
		case j.Call == nil && !in.changed:
			t.add(Answer, "nothing-to-confirm")
		}
	}
	// New evidence against a call not yet acted on opens it again.
	if in.changed && (j.Status == Proposed || j.Status == Repairing || j.Status == Confirmed) {
		t.reconsider()
	}
}

// reconsider looks whether a call still stands after new evidence; a senior's
// ruling does.
func (t *turn) reconsider() {
	j := t.job
	if j.Call == nil || j.Call.Ruled || j.Status == Confirmed {
		return
	}
	if j.Asked != nil && j.Asked.Purpose == rules.ToConfirm {
		j.Situation.Reread = j.Call.Fault
	}
	d := t.model.Diagnose(&j.Situation)
	t.d = d
	if d.Call == nil || d.Call.Fault != j.Call.Fault {
		j.Status, j.Call, j.Proof = Measuring, nil, nil
		return
	}
	j.Call, j.Asked = d.Call, d.Call.Reread
	j.Proof = t.proof(d.Call)
}

// repaired starts the checks. A repair nobody called is checked as the likeliest
// fault would be.
func (t *turn) repaired() {
	j := t.job
	fault := ""
	if j.Call != nil {
		fault = j.Call.Fault
		t.add(Heard, "verifying", "fault", t.fault(fault))
		if j.Status == Proposed {
			t.add(Heard, "unconfirmed")
		}
	} else {
		if d := t.model.Diagnose(&j.Situation); len(d.Suspects) > 0 {
			fault = d.Suspects[0].Fault
		}
		t.add(Heard, "verifying-early")
	}
	j.Status = Verifying
	if j.Call == nil {
		j.Call = &rules.Call{Fault: fault}
	}
	// What was read before the repair no longer holds.
	j.Situation.Evidence = slices.DeleteFunc(j.Situation.Evidence, func(it rules.Item) bool { return !t.news(&it) })
	j.Situation.Rechecked = map[string]int{}
	j.Checks = t.checksFor(fault)
	j.Passed = nil
	j.Situation.State = knowledge.Calling
	t.askCheck()
}

// checksFor lists a fault's checks that this unit can have.
func (t *turn) checksFor(fault string) []string {
	f := t.base.Faults[fault]
	if f == nil {
		return nil
	}
	var out []string
	for _, id := range f.Checks {
		if c := t.base.Checks[id]; c != nil && t.fits(c.Needs) && !t.waitsForFact(c) {
			out = append(out, id)
		}
	}
	return out
}

// fits holds a check's needs against the facts, told or by default.
func (t *turn) fits(needs map[string]string) bool {
	for f, want := range needs {
		have, told := t.job.Situation.Facts[f]
		if !told {
			if k := t.base.Facts[f]; k != nil {
				have = k.Default
			}
		}
		if have != want {
			return false
		}
	}
	return true
}

// waitsForFact says whether a check's bounds rest on a fact nobody has told; such
// a check is left out rather than judged by a guess.
func (t *turn) waitsForFact(c *knowledge.Check) bool {
	for _, b := range []*knowledge.Figure{c.AtLeast, c.AtMost} {
		if b == nil || t.base.Facts[b.Name] == nil {
			continue
		}
		if _, known := t.base.Resolve(*b, t.job.Situation.Facts); !known {
			return true
		}
	}
	return false
}

// askCheck makes the next check what is asked, or closes the job.
func (t *turn) askCheck() {
	j := t.job
	if len(j.Checks) == 0 {
		t.closeJob()
		return
	}
	j.Check = j.Checks[0]
	c := t.base.Checks[j.Check]
	j.yes, j.no = first(c.Pass), first(c.Fail)
	j.Asked = &rules.Ask{Reading: knowledge.ReadingID(c.Reading), Observation: c.Observe, State: c.State, Purpose: rules.ToProve}
}

func first(states []string) string {
	if len(states) == 0 {
		return ""
	}
	return states[0]
}

func (t *turn) closeJob() {
	j := t.job
	j.Status, j.Asked, j.Check = Closed, nil, ""
	if j.Call != nil && j.Call.Fault == "none/normal" {
		t.add(Verdict, "closed-normal")
		return
	}
	t.add(Verdict, "closed", "fault", t.fault(j.Call.Fault))
}

func (t *turn) closeEarly() {
	j := t.job
	if j.Status == Verifying || j.Call != nil {
		var left []string
		for _, c := range j.Checks {
			left = append(left, plain(c))
		}
		if len(left) == 0 && j.Call != nil && j.Status != Verifying {
			left = []string{"the repair"}
		}
		t.add(Verdict, "closed-early", "what", strings.Join(left, ", "))
	} else {
		t.add(Verdict, "closed-open")
	}
	j.Status, j.Asked, j.Check = Closed, nil, ""
}

// checkAnswered looks whether the message answers checks still open: the one
// asked or any other it happens to cover.
func (t *turn) checkAnswered(in absorbed) {
	j := t.job
	if !in.changed && !t.has("skip") && !t.has("cannot-measure") {
		return
	}
	if t.has("skip") || t.has("cannot-measure") {
		j.Checks = slices.DeleteFunc(j.Checks, func(id string) bool { return id == j.Check })
	}
	var open []string
	for _, id := range j.Checks {
		switch passed, answered := t.judge(t.base.Checks[id]); {
		case !answered:
			open = append(open, id)
		case passed:
			j.Passed = append(j.Passed, id)
		default:
			t.failed(id)
			return
		}
	}
	if len(open) < len(j.Checks) && len(open) > 0 {
		t.add(Proves, "check-passed")
	}
	j.Checks = open
	t.askCheck()
}

// judge holds this message's readings and sightings against a check.
func (t *turn) judge(c *knowledge.Check) (passed, answered bool) {
	for _, r := range t.u.Readings {
		if string(r.Reading) == c.Reading && !r.Impossible {
			return t.inBand(c, float64(r.Value)), true
		}
	}
	for _, o := range t.u.Observations {
		if o.Subject != c.Observe {
			continue
		}
		if slices.Contains(c.Fail, o.State) {
			return false, true
		}
		if slices.Contains(c.Pass, o.State) {
			passed, answered = true, true
		}
	}
	return passed, answered
}

func (t *turn) inBand(c *knowledge.Check, v float64) bool {
	if c.AtLeast != nil {
		if lo, _ := t.base.Resolve(*c.AtLeast, t.job.Situation.Facts); v < lo {
			return false
		}
	}
	if c.AtMost != nil {
		if hi, _ := t.base.Resolve(*c.AtMost, t.job.Situation.Facts); v > hi {
			return false
		}
	}
	return true
}

// failed reopens the job with what the checks showed.
func (t *turn) failed(check string) {
	j := t.job
	t.add(Verdict, "check-failed", "failed", t.base.Checks[check].Failed)
	fault := j.Call.Fault
	t.add(Verdict, "reopened", "fault", t.fault(fault))
	j.Situation.Repaired = append(j.Situation.Repaired, fault)
	j.Situation.Ruled = ""
	j.Status, j.Call, j.Check, j.Checks = Measuring, nil, "", nil
	j.ruledOut, j.led = map[string]bool{}, ""
}

// senior takes a senior's confirmation, overruling or hand.
func (t *turn) senior() {
	j := t.job
	who := t.msg.Name
	if who == "" {
		who = "The senior"
	}
	switch {
	case t.has("override"):
		t.overrule(who)
	case t.has("confirm") && j.Call != nil && (j.Status == Proposed || j.Status == Repairing):
		j.Status = Confirmed
		t.add(Answer, "confirmed", "who", who, "fault", t.fault(j.Call.Fault))
	case t.has("confirm"):
		t.add(Answer, "nothing-to-confirm")
	}
}

// overrule sets the call aside; a cause the senior names stands as the call.
func (t *turn) overrule(who string) {
	j := t.job
	named := t.faultNamed(t.msg.Text)
	if j.Call != nil && named != j.Call.Fault {
		j.Situation.Overruled = append(j.Situation.Overruled, j.Call.Fault)
		t.add(Answer, "overruled", "who", who, "fault", t.fault(j.Call.Fault))
	}
	j.Status, j.Call = Measuring, nil
	if named == "" {
		if len(j.Situation.Overruled) == 0 {
			t.add(Answer, "override-how")
		}
		return
	}
	j.Situation.Ruled = named
	t.add(Answer, "ruled", "who", who, "fault", t.fault(named))
}

// faultNamed finds the fault a text names: the one of whose name, short name or id
// the most words are in it, with no other as good.
func (t *turn) faultNamed(text string) string {
	said := words(text)
	best, second, which := 0.0, 0.0, ""
	for _, id := range t.model.Faults() {
		score := max(match(said, t.fault(id)), match(said, t.short(id)), match(said, id))
		switch {
		case score > best:
			best, second, which = score, best, id
		case score > second:
			second = score
		}
	}
	if best < 1 || second >= best {
		return ""
	}
	return which
}

// match weighs how many of a name's words were said against how many it has.
func match(said []string, name string) float64 {
	own := words(name)
	hit := 0.0
	for _, w := range own {
		if slices.Contains(said, w) {
			hit++
		}
	}
	return hit * hit / max(float64(len(own)), 1)
}

// words are a text's content words, lower case.
func words(text string) []string {
	var out []string
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r < 'a' || r > 'z' }) {
		if len(w) > 2 && !slices.Contains([]string{"the", "with", "that", "not", "and", "override", "its"}, w) {
			out = append(out, w)
		}
	}
	return out
}
