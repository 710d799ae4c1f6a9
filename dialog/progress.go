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
	case t.msg.From == Dispatcher:
		return
	case t.has("report-done") && j.Status != Verifying && j.Status != Closed:
		t.repaired(in)
	case j.Status == Verifying:
		t.checkAnswered(in)
	}
	if t.has("close-job") && j.Status != Closed {
		t.closeEarly()
	}
	if t.has("request-senior") {
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
	if in.changed && (j.Status == Proposed || j.Status == Repairing) && !t.looksRepaired() {
		t.reconsider()
	}
}

// looksRepaired says whether what was seen is what the call's checks want to see:
// the repair is likely made and not yet reported.
func (t *turn) looksRepaired() bool {
	j := t.job
	if j.Call == nil || len(t.u.Readings) > 0 || len(t.u.Observations) == 0 {
		return false
	}
	checks := t.checksFor(j.Call.Fault)
	for _, o := range t.u.Observations {
		if j.Asked != nil && j.Asked.Observation == o.Subject {
			return false // what was asked about the machine as it is
		}
		if !slices.ContainsFunc(checks, func(id string) bool {
			c := t.base.Checks[id]
			return c.Observe == o.Subject && slices.Contains(c.Pass, o.State)
		}) {
			return false
		}
	}
	t.add(Question, "looks-repaired")
	return true
}

// reconsider looks whether a call still stands after new evidence; a senior's
// ruling does.
func (t *turn) reconsider() {
	j := t.job
	if j.Call == nil || j.Call.Ruled {
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
	t.settled = j.Asked != nil && j.Asked.Purpose == rules.ToConfirm && d.Call.Reread == nil
	j.Call, j.Asked = d.Call, d.Call.Reread
	j.Proof = t.proof(d.Call)
}

// repaired starts the checks: the called fault's, or those any machine has to pass
// when something was changed before a call.
func (t *turn) repaired(in absorbed) {
	j := t.job
	if j.Call == nil && len(j.Situation.Evidence) == 0 && !in.changed {
		t.add(Question, "done-what")
		return
	}
	var checks []string
	if j.Call != nil {
		t.add(Heard, "verifying", "fault", t.fault(j.Call.Fault))
		if j.Status == Proposed {
			t.add(Heard, "unconfirmed")
		}
		checks = t.checksFor(j.Call.Fault)
	} else {
		t.add(Heard, "verifying-early")
		checks = t.likeliestChecks()
		for _, id := range t.usable(t.generalChecks()) {
			if !slices.Contains(checks, id) {
				checks = append(checks, id)
			}
		}
	}
	j.Status = Verifying
	// What was read before the repair no longer holds.
	j.Situation.Evidence = slices.DeleteFunc(j.Situation.Evidence, func(it rules.Item) bool { return !t.news(&it) })
	j.Situation.Rechecked = map[string]int{}
	j.readings = nil
	j.Checks, j.Passed, j.Skipped = checks, nil, nil
	j.Situation.State = knowledge.Calling
	t.askCheck()
	t.checkAnswered(in)
}

// likeliestChecks are those of the suspect that stood out when something was changed
// before a call: a fuse that blows again has still its short to find.
func (t *turn) likeliestChecks() []string {
	d := t.model.Diagnose(&t.job.Situation)
	if len(d.Suspects) == 0 || d.Suspects[0].Probability < standsOut {
		return nil
	}
	return t.checksFor(d.Suspects[0].Fault)
}

// standsOut is the share from which on a suspect is taken for what was changed: at most
// two others can have as much.
const standsOut = 1.0 / 3

// closeJob ends a job whose checks are through. What was skipped is said, and a
// machine is proven well only by what was seen.
func (t *turn) closeJob() {
	j := t.job
	j.Status, j.Asked, j.Check = Closed, nil, ""
	switch {
	case len(j.Skipped) > 0:
		t.add(Verdict, "closed-early", "what", t.checkNames(j.Skipped))
	case j.Call == nil:
		t.add(Verdict, "closed-uncalled")
	case j.Call.Fault == "none/normal":
		t.add(Verdict, "closed-normal")
	default:
		t.add(Verdict, "closed", "fault", t.fault(j.Call.Fault))
	}
}

// closeEarly closes at the technician's word and says what was left undone.
func (t *turn) closeEarly() {
	j := t.job
	switch {
	case j.Status == Verifying:
		t.add(Verdict, "closed-early", "what", t.checkNames(slices.Concat(j.Skipped, j.Checks)))
	case j.Call != nil:
		t.add(Verdict, "closed-unrepaired", "fault", t.fault(j.Call.Fault))
	default:
		t.add(Verdict, "closed-open")
	}
	j.Status, j.Asked, j.Check = Closed, nil, ""
}

func (t *turn) checkNames(ids []string) string {
	var out []string
	for _, id := range ids {
		out = append(out, t.check(id))
	}
	return strings.Join(out, ", ")
}
