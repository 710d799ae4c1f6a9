package dialog

import (
	"math"
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// nextStep ends the reply with what to do: the call, or the next question.
func (t *turn) nextStep() {
	switch j := t.job; {
	case j.Status == Closed:
	case j.Status == Verifying:
		t.checkStep()
	case j.Call != nil:
		t.callStep()
	case j.Asked != nil:
		t.askStep()
	}
}

func (t *turn) checkStep() {
	c := t.base.Checks[t.job.Check]
	t.add(Next, "check", "ask", c.Ask)
	if m := t.base.Measurements[knowledge.ReadingID(c.Reading)]; m != nil && m.Leads != "" && !t.askedBefore && !t.has("ask-how") {
		t.add(How, "ask-how", "setting", sentence(m.Setting), "leads", m.Leads)
	}
	var ids []string
	ids = append(ids, c.Cautions...)
	if m := t.base.Measurements[knowledge.ReadingID(c.Reading)]; m != nil {
		ids = append(ids, m.Cautions...)
	}
	t.caution(ids, false)
}

// callStep says the call in full when it is new, and where it stands after.
func (t *turn) callStep() {
	j := t.job
	f := t.base.Faults[j.Call.Fault]
	if t.d == nil || t.d.Call == nil || t.repeated() {
		phrase := "call-stands"
		if j.Status == Proposed {
			phrase = "waiting-senior"
		}
		if !t.ruled { // a confirmation has said so already
			t.add(Verdict, phrase, "fault", f.Name)
		}
		t.reread()
		if t.ruled || t.settled { // now is the time for it, and it was said a while ago
			t.repair(f)
		}
		return
	}
	p := t.percent(j.Call.Probability)
	switch {
	case j.Call.Ruled:
	case j.Call.Unsure && len(j.Call.Proof) == 0:
		t.add(Verdict, "call-unproven", "fault", f.Name, "short", f.Short, "percent", p)
	case j.Call.Unsure:
		t.add(Verdict, "call-unsure", "fault", f.Name, "short", f.Short, "percent", p)
	default:
		t.add(Verdict, "call", "fault", f.Name, "short", f.Short, "percent", p)
	}
	if len(j.Proof) > 0 {
		t.add(Proof, "proof", "what", join(j.Proof))
	}
	t.reread()
	if j.Status == Proposed {
		t.add(Next, "needs-senior")
	}
	t.repair(f)
	if f.Part != "" {
		t.add(Next, "part", "what", f.Part)
	}
	if n := len(t.checksFor(j.Call.Fault)); n > 0 {
		t.lines = append(t.lines, Line{Part: Next, Text: t.base.Phrases.Count("checks", n), Brief: t.say("checks-brief")})
	}
	t.caution(f.Cautions, true)
}

// repair says what to do about a fault.
func (t *turn) repair(f *knowledge.Fault) {
	l := Line{Part: Next, Text: t.say("repair", "what", strings.TrimSpace(f.Repair))}
	if f.Brief != "" {
		l.Brief = t.say("repair", "what", f.Brief)
	}
	t.lines = append(t.lines, l)
}

// reread asks once more for the answer a call hangs on.
func (t *turn) reread() {
	a := t.job.Asked
	if a == nil || a.Purpose != rules.ToConfirm {
		return
	}
	if a.Observation != "" {
		t.add(Next, "ask-confirm-seen", "ask", t.base.Observations[a.Observation].Ask)
		return
	}
	phrase, m := "ask-confirm", t.base.Measurements[a.Reading]
	if m.Between != nil {
		phrase = "ask-confirm-live"
	}
	what := t.placed(&rules.Item{Reading: a.Reading}, t.unit(a.Reading.Quantity()))
	if m.From != nil {
		what = t.row(a.Reading)
	}
	t.add(Next, phrase, "name", m.Name, "what", what)
}

// proof lists what proves a call; a reading held against a limit of the trade is
// shown with it.
func (t *turn) proof(c *rules.Call) []string {
	f := t.base.Faults[c.Fault]
	var out []string
	for _, i := range c.Proof {
		it := &t.evidence()[i]
		s := t.item(it)
		if it.Reading != "" {
			s = t.againstLimit(f, it, s)
		}
		out = append(out, s)
	}
	return out
}

// againstLimit adds the limit a proof holds a reading against: of its floor and its
// ceiling the ceiling, which is what a part that has weakened falls under. A pressure
// held against saturation is told with its own.
func (t *turn) againstLimit(f *knowledge.Fault, it *rules.Item, shown string) string {
	q := it.Reading.Quantity()
	for _, x := range t.findingsOn(f, it) {
		v, low, high := it.Value, x.AtLeast, x.AtMost
		if x.BySaturation() {
			at, ok := t.model.Saturation(it.Reading, it.Value)
			if !ok {
				continue
			}
			q, v, low, high = "temperature", math.Round(at), x.SaturationAtLeast, x.SaturationAtMost
			shown = t.say("saturated", "item", t.item(it), "temperature", t.value(q, v))
		}
		lo, hasLo := t.named(low)
		hi, hasHi := t.named(high)
		switch {
		case hasHi && v <= hi:
			return t.say("at-most", "item", shown, "limit", t.value(q, hi))
		case hasLo && v >= lo:
			return t.say("at-least", "item", shown, "limit", t.value(q, lo))
		}
		return shown
	}
	return shown
}

// findingsOn are the findings of a fault's proof that a piece of evidence can be, in
// ways that are for this unit.
func (t *turn) findingsOn(f *knowledge.Fault, it *rules.Item) []*knowledge.Finding {
	var out []*knowledge.Finding
	for _, step := range f.Proof {
		for _, way := range step.AnyOf {
			if slices.ContainsFunc(way, func(x knowledge.Finding) bool { return x.Is != "" && x.Fact != "" && t.facts()[x.Fact] != x.Is }) {
				continue
			}
			for i := range way {
				if x := &way[i]; x.Reading == string(it.Reading) && (x.State == "" || it.State == "" || x.State == it.State) && t.holds(x, it.Value) {
					out = append(out, x)
				}
			}
		}
	}
	return out
}

// holds says whether a reading lies within a finding's bounds.
func (t *turn) holds(x *knowledge.Finding, v float64) bool {
	low, high := x.AtLeast, x.AtMost
	if x.BySaturation() {
		at, ok := t.model.Saturation(knowledge.ReadingID(x.Reading), v)
		if !ok {
			return false
		}
		v, low, high = at, x.SaturationAtLeast, x.SaturationAtMost
	}
	if low != nil {
		if lo, _ := t.base.Resolve(*low, t.facts()); v < lo {
			return false
		}
	}
	if high != nil {
		if hi, _ := t.base.Resolve(*high, t.facts()); v > hi {
			return false
		}
	}
	return true
}

// findingOn is the first finding of a fault's proof on a piece of evidence's
// reading, in its state.
func findingOn(f *knowledge.Fault, it *rules.Item) *knowledge.Finding {
	for _, step := range f.Proof {
		for _, way := range step.AnyOf {
			for i := range way {
				if x := &way[i]; x.Reading == string(it.Reading) && (x.State == "" || it.State == "" || x.State == it.State) {
					return x
				}
			}
		}
	}
	return nil
}

// named is a bound that is a limit or fact of the trade, not a bare number.
func (t *turn) named(b *knowledge.Figure) (float64, bool) {
	if b == nil || b.Name == "" {
		return 0, false
	}
	v, _ := t.base.Resolve(*b, t.facts())
	return v, true
}

// facts are those told, and the targets that follow from them.
func (t *turn) facts() map[string]string {
	if t.d == nil {
		return t.job.Situation.Facts
	}
	return t.d.Facts
}

// repeated says whether the call was already told in full.
func (t *turn) repeated() bool {
	j := t.job
	if j.said["call "+j.Call.Fault] {
		return true
	}
	j.said["call "+j.Call.Fault] = true
	return false
}
