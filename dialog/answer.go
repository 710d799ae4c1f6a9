package dialog

import (
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// answer answers what the message asked.
func (t *turn) answer() {
	for _, q := range []struct {
		intent string
		say    func()
	}{
		{"ask-why", t.why},
		{"ask-remaining", t.remaining},
		{"ask-how", t.how},
		{"ask-status", t.status},
		{"help", func() { t.add(Answer, "help") }},
	} {
		if t.has(q.intent) {
			q.say()
		}
	}
	for _, id := range t.u.Wanted {
		t.comesTo(id)
	}
	t.smallTalk()
}

// comesTo answers what a reading was, or comes to, beside what a sound machine would
// show; or what it still takes.
func (t *turn) comesTo(id knowledge.ReadingID) {
	m := t.base.Measurements[id]
	if m == nil {
		return
	}
	for i, it := range slices.Backward(t.evidence()) {
		if it.Reading != id {
			continue
		}
		t.add(Answer, "wanted", "what", sentence(t.item(&it)))
		for _, c := range t.d.Compared {
			if q := it.Reading.Quantity(); c.Item == i && it.State != knowledge.Standing {
				t.add(Answer, "wanted-normal", "value", t.value(q, t.whole(q, c.Normal)))
			}
		}
		return
	}
	if m.From == nil {
		t.add(Answer, "wanted-unread", "name", sentence(m.Name))
		return
	}
	of := make([]string, len(m.From.Of))
	for i, what := range m.From.Of {
		of[i] = t.optionName(what)
	}
	t.add(Answer, "wanted-from", "name", sentence(m.Name), "of", t.both(of))
}

// smallTalk answers a message that says nothing about the machine.
func (t *turn) smallTalk() {
	if len(t.lines) > 0 || t.says() {
		return
	}
	switch {
	case t.has("open-job"):
		t.add(Heard, "opened")
	case t.u.Away:
		t.add(Answer, "away")
	case t.has("greeting"):
		t.add(Answer, "greeting")
	case t.has("thanks"):
		t.add(Answer, "thanks")
	case t.has("off-topic"):
		t.add(Answer, "off-topic")
	case t.u.Machine != "":
		t.add(Heard, "noted-"+t.u.Machine)
	case t.resumed:
		t.add(Answer, "go-on")
	case t.has("ask-next") || t.msg.From != Tech:
	default:
		t.add(Answer, "heard-nothing")
		t.lines = append(t.lines, t.askAbout(t.job.standing)...)
	}
}

// says: the message carried evidence or moved the job.
func (t *turn) says() bool {
	u := &t.u
	if len(u.Readings)+len(u.Observations)+len(u.Facts)+len(u.Unclear) > 0 {
		return true
	}
	return slices.ContainsFunc(u.Intents, func(i string) bool {
		return slices.Contains([]string{"confirm", "override", "report-done", "close-job", "request-senior", "skip", "cannot-measure"}, i)
	})
}

// why says why the call, or why this question and what speaks for the suspects.
func (t *turn) why() {
	if t.job.Call != nil {
		if proof := t.job.Proof; len(proof) > 0 {
			t.add(Answer, "why-call", "fault", sentence(t.fault(t.job.Call.Fault)), "proof", join(proof))
		}
		return
	}
	if len(t.evidence()) == 0 {
		t.add(Answer, "why-nothing")
	}
	for _, x := range t.d.Suspects[:min(3, len(t.d.Suspects))] {
		because := t.items(x.Because)
		pairs := []string{"fault", sentence(t.fault(x.Fault)), "percent", t.percent(x.Probability), "because", join(because)}
		if len(because) == 0 {
			t.add(Answer, "why-suspect-prior", pairs...)
			continue
		}
		t.add(Answer, "why-suspect", pairs...)
	}
	if t.job.Asked != nil {
		t.lines = append(t.lines, Line{Part: Answer, Text: t.whyAsk(t.job.Asked)})
	}
}

// whyAsk is one sentence on why a question is worth asking.
func (t *turn) whyAsk(a *rules.Ask) string {
	if t.job.Status == Verifying {
		return t.say("why-check")
	}
	switch {
	case a.Fact != "":
		return t.say("why-fact")
	case a.Purpose == rules.ToProve && a.For != "":
		return t.say("why-prove", "fault", t.fault(a.For))
	case a.Purpose == rules.ToConfirm && a.For != "":
		return t.say("why-confirm", "fault", t.fault(a.For))
	case a.Purpose == rules.ToRecheck:
		return t.say("why-recheck")
	}
	return t.say("why-narrow", "what", t.both(t.parted(a)))
}

// parted names the faults a question's answers would part: the leader after each.
func (t *turn) parted(a *rules.Ask) []string {
	var out []string
	for _, o := range a.Outcomes {
		if len(o.Leaves) == 0 {
			continue
		}
		if n := t.short(o.Leaves[0].Fault); !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	if len(out) < 2 && len(t.d.Suspects) > 1 {
		out = nil
		for _, s := range t.d.Suspects[:2] {
			out = append(out, t.short(s.Fault))
		}
	}
	return out[:min(3, len(out))]
}

// remaining lists what still stands, or which checks are left.
func (t *turn) remaining() {
	if t.job.Status == Verifying {
		var left []string
		for _, c := range t.job.Checks {
			left = append(left, t.check(c))
		}
		t.add(Answer, "remaining-checks", "what", strings.Join(left, ", "))
		return
	}
	if t.job.Status == Closed || len(t.d.Suspects) == 0 {
		t.add(Answer, "remaining-none")
		return
	}
	var still []string
	for _, s := range t.d.Suspects[:min(6, len(t.d.Suspects))] {
		still = append(still, t.short(s.Fault)+" "+t.percent(s.Probability))
	}
	t.add(Answer, "remaining", "what", strings.Join(still, ", "))
}

// how says how to take what is asked.
func (t *turn) how() {
	a := t.job.Asked
	switch c := t.base.Checks[t.job.Check]; {
	case a == nil:
		t.add(Answer, "how-nothing")
	case c != nil:
		t.add(Answer, "how-observation", "ask", c.Ask)
		t.howTo(a.Reading)
	case a.Fact != "":
		t.add(Answer, "how-fact", "ask", t.base.Facts[a.Fact].Ask)
	case a.Observation != "":
		t.add(Answer, "how-observation", "ask", t.base.Observations[a.Observation].Ask)
	default:
		t.howTo(a.Reading)
	}
}

// howTo says how a reading is taken.
func (t *turn) howTo(id knowledge.ReadingID) {
	m := t.base.Measurements[id]
	if m == nil || m.Leads == "" {
		return
	}
	t.add(How, "ask-how", "setting", sentence(m.Setting), "leads", m.Leads)
	if m.Note != "" {
		t.add(How, "note", "note", m.Note)
	}
}

func (t *turn) status() {
	lead := ""
	if t.job.Status == Measuring && len(t.d.Suspects) > 0 {
		s := t.d.Suspects[0]
		lead = t.say("leading", "what", t.fault(s.Fault)+" "+t.percent(s.Probability))
	} else if t.job.Call != nil {
		lead = sentence(t.fault(t.job.Call.Fault)) + "."
	}
	t.add(Answer, "status", "status", t.base.Phrases["status-"+t.job.Status], "leading", lead)
}

// reply gathers the turn into what is sent.
func (t *turn) reply() *Reply {
	r := &Reply{Understood: t.read, Suspects: []Suspect{}, RuledOut: []RuledOut{}, Cautions: []string{}, Status: t.job.Status, Lines: t.lines, Language: t.speaks}
	if t.d != nil && t.job.Status != Closed {
		for _, x := range t.d.Suspects {
			r.Suspects = append(r.Suspects, Suspect{x.Fault, x.Probability, t.items(x.Because)})
		}
		for _, x := range t.d.RuledOut {
			r.RuledOut = append(r.RuledOut, RuledOut{x.Fault, t.item(&t.evidence()[x.By])})
		}
	}
	switch {
	case t.job.Status == Closed:
	case t.job.Call != nil && t.job.Status != Verifying:
		f := t.base.Faults[t.job.Call.Fault]
		proof := slices.Concat([]string{}, t.job.Proof)
		r.Call = &Call{Fault: t.job.Call.Fault, Repair: strings.TrimSpace(f.Repair), Proof: proof, NeedsConfirmation: t.needsSenior(t.job.Call)}
	case t.job.Asked != nil:
		a := t.job.Asked
		r.Ask = &Ask{Reading: a.Reading, Observation: a.Observation, Fact: a.Fact, State: a.State, Why: t.whyAsk(a)}
	}
	r.Measured = t.measured()
	var text []string
	for _, l := range t.lines {
		text = append(text, l.Text)
		if l.Part == Caution || l.Part == Safety {
			r.Cautions = append(r.Cautions, l.Text)
		}
	}
	r.Text = strings.Join(text, "\n")
	return r
}
