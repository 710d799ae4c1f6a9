package dialog

import (
	"slices"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// checksFor lists a fault's checks that this unit can have.
func (t *turn) checksFor(fault string) []string {
	if f := t.base.Faults[fault]; f != nil {
		return t.usable(f.Checks)
	}
	return nil
}

// generalChecks are those any machine has to pass.
func (t *turn) generalChecks() []string {
	var out []string
	for _, e := range t.base.Lineage(t.equipment) {
		out = append(out, e.Checks...)
	}
	return out
}

// usable leaves out checks of parts not fitted, and those whose bounds rest on a
// fact nobody has told: they are not judged by a guess.
func (t *turn) usable(ids []string) []string {
	var out []string
	for _, id := range ids {
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

func (t *turn) waitsForFact(c *knowledge.Check) bool {
	if _, told := t.job.Situation.Facts["refrigerant"]; c.SaturationAtMost != nil && !told {
		return true
	}
	for _, b := range []*knowledge.Figure{c.AtLeast, c.AtMost, c.SaturationAtMost} {
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
	t.askedBefore = j.Check == j.Checks[0]
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

// checkAnswered looks whether the message answers checks still open: the one
// asked or any other it happens to cover.
func (t *turn) checkAnswered(in absorbed) {
	j := t.job
	if j.Status != Verifying {
		return
	}
	if t.has("skip") || t.has("cannot-measure") && t.cannotCheck() {
		j.Skipped = append(j.Skipped, j.Check)
		j.Checks = slices.DeleteFunc(j.Checks, func(id string) bool { return id == j.Check })
	}
	var open []string
	for i, id := range j.Checks {
		switch passed, answered := t.judge(t.base.Checks[id]); {
		case !answered || !in.changed:
			open = append(open, id)
		case passed:
			j.Passed = append(j.Passed, id)
		default:
			j.Checks = slices.Concat(open, j.Checks[i+1:])
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

// cannotCheck says whether what he lacks is what the check asked needs; a lack of
// nothing in particular is of that.
func (t *turn) cannotCheck() bool {
	if len(t.u.Lacks)+len(t.u.CannotReach) == 0 {
		return true
	}
	c := t.base.Checks[t.job.Check]
	if c == nil {
		return false
	}
	m := t.base.Measurements[knowledge.ReadingID(c.Reading)]
	return m != nil && slices.Contains(t.u.Lacks, m.Instrument) || slices.Contains(t.u.CannotReach, c.Reading) || slices.Contains(t.u.CannotReach, c.Observe)
}

// told is what this message says a reading is: read as such, or made of readings of
// which it brings one.
func (t *turn) told(id knowledge.ReadingID) (float64, bool) {
	of := func(id knowledge.ReadingID) func(understand.Reading) bool {
		return func(r understand.Reading) bool { return r.Reading == id && !r.Impossible }
	}
	if i := slices.IndexFunc(t.u.Readings, of(id)); i >= 0 {
		return float64(t.u.Readings[i].Value), true
	}
	m := t.base.Measurements[id]
	if m == nil || m.From == nil || !slices.ContainsFunc(m.From.Of, func(part string) bool {
		return slices.ContainsFunc(t.u.Readings, of(knowledge.ReadingID(part)))
	}) {
		return 0, false
	}
	for _, it := range t.model.Diagnose(&t.job.Situation).Evidence {
		if it.Reading == id {
			return it.Value, true
		}
	}
	return 0, false
}

// judge holds this message's readings and sightings against a check.
func (t *turn) judge(c *knowledge.Check) (passed, answered bool) {
	if v, told := t.told(knowledge.ReadingID(c.Reading)); told {
		return t.inBand(c, v), true
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
	if c.SaturationAtMost != nil {
		hi, _ := t.base.Resolve(*c.SaturationAtMost, t.job.Situation.Facts)
		f, ok := t.model.Saturation(knowledge.ReadingID(c.Reading), v)
		return ok && f <= hi
	}
	return true
}

// failed reopens the job with what the checks showed.
func (t *turn) failed(check string) {
	j := t.job
	t.add(Verdict, "check-failed", "failed", t.base.Checks[check].Failed)
	if j.Call != nil {
		t.add(Verdict, "reopened", "fault", t.fault(j.Call.Fault))
		j.Situation.Repaired = append(j.Situation.Repaired, j.Call.Fault)
	} else {
		t.add(Verdict, "reopened-uncalled")
	}
	j.Situation.Ruled = ""
	j.Status, j.Call, j.Proof, j.Check, j.Checks = Measuring, nil, nil, "", nil
	j.ruledOut, j.led = map[string]bool{}, ""
}
