package dialog

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// provesWhat says what the message newly ruled out and what now leads.
func (t *turn) provesWhat(in absorbed) {
	if !in.changed || t.d.Call != nil {
		return
	}
	var fresh []string
	for _, x := range t.byPrior(t.d.RuledOut) {
		if x != "none/normal" && !t.job.ruledOut[x] && len(fresh) < 4 {
			fresh = append(fresh, t.short(x))
		}
	}
	if len(fresh) > 0 {
		t.add(Proves, "rules-out", "what", t.both(fresh))
	}
	if len(t.d.Odd) > 0 && (t.d.Ask == nil || t.d.Ask.Purpose != rules.ToRecheck) {
		t.add(Proves, "contradiction", "what", join(t.items(t.d.Odd[:1])))
	}
	if len(t.d.Suspects) == 0 {
		return
	}
	top := t.d.Suspects[0]
	if top.Probability > 0.25 {
		var lead []string
		for _, s := range t.d.Suspects[:min(3, len(t.d.Suspects))] {
			if s.Probability > 0.1 {
				lead = append(lead, t.short(s.Fault)+" "+percent(s.Probability))
			}
		}
		t.add(Proves, "leading", "what", strings.Join(lead, ", "))
	}
	t.job.led = top.Fault
}

// doubted asks about readings that cannot be right together, once a message brings
// one of them.
func (t *turn) doubted() {
	for _, d := range t.d.Doubts {
		if slices.ContainsFunc(t.u.Readings, func(r understand.Reading) bool { return slices.Contains(d.Readings, r.Reading) }) {
			t.add(Question, "doubted", "what", sentence(d.What), "slip", sentence(d.Slip))
		}
	}
}

// byPrior orders ruled-out faults by how common they are: that the usual cause is
// out is the news.
func (t *turn) byPrior(out []rules.Excluded) []string {
	ids := make([]string, len(out))
	for i, x := range out {
		ids[i] = x.Fault
	}
	slices.SortStableFunc(ids, func(a, b string) int { return cmp.Compare(t.base.Faults[b].Weight, t.base.Faults[a].Weight) })
	return ids
}

// undecided says when a reading falls between what would prove a suspect and what
// would prove the cause it may be a consequence of.
func (t *turn) undecided() {
	for _, s := range t.d.Suspects[:min(2, len(t.d.Suspects))] {
		f := t.base.Faults[s.Fault]
		for _, cause := range f.ConsequenceOf {
			c := t.base.Faults[cause]
			if c == nil {
				continue
			}
			if t.between(s.Fault, f, cause, c) {
				return
			}
		}
	}
}

func (t *turn) between(fault string, f *knowledge.Fault, cause string, c *knowledge.Fault) bool {
	for i := range t.evidence() {
		it := &t.evidence()[i]
		if it.Reading == "" || !t.news(it) {
			continue
		}
		low, okLow := t.bound(c, it, false)
		high, okHigh := t.bound(f, it, true)
		if okLow && okHigh && it.Value > low && it.Value < high {
			q := it.Reading.Quantity()
			t.add(Proves, "undecided", "value", t.value(q, it.Value), "low", t.value(q, low), "high", t.value(q, high), "fault", t.fault(fault), "cause", t.fault(cause))
			return true
		}
	}
	return false
}

// news says whether a piece of evidence came with this message.
func (t *turn) news(it *rules.Item) bool {
	return slices.ContainsFunc(t.u.Readings, func(r understand.Reading) bool {
		return r.Reading == it.Reading && float64(r.Value) == it.Value
	}) || slices.ContainsFunc(t.u.Observations, func(o understand.Observation) bool {
		return it.Subject != "" && o.Subject == it.Subject && o.State == it.Seen
	})
}

// bound is the figure a fault's proof sets for a reading: its floor or its
// ceiling.
func (t *turn) bound(f *knowledge.Fault, it *rules.Item, floor bool) (float64, bool) {
	x := findingOn(f, it)
	if x == nil {
		return 0, false
	}
	b := x.AtMost
	if floor {
		b = x.AtLeast
	}
	if b == nil {
		return 0, false
	}
	v, _ := t.base.Resolve(*b, t.job.Situation.Facts)
	return v, true
}

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
	if m := t.base.Measurements[knowledge.ReadingID(c.Reading)]; m != nil && m.Leads != "" {
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
		t.add(Verdict, phrase, "fault", f.Name)
		t.reread()
		return
	}
	p := percent(j.Call.Probability)
	switch {
	case j.Call.Ruled:
	case j.Call.Unsure && len(j.Call.Proof) == 0:
		t.add(Verdict, "call-unproven", "fault", f.Name, "percent", p)
	case j.Call.Unsure:
		t.add(Verdict, "call-unsure", "fault", f.Name, "percent", p)
	default:
		t.add(Verdict, "call", "fault", f.Name, "percent", p)
	}
	if len(j.Proof) > 0 {
		t.add(Verdict, "proof", "what", join(j.Proof))
	}
	t.reread()
	if j.Status == Proposed {
		t.add(Next, "needs-senior")
	}
	t.add(Next, "repair", "what", strings.TrimSpace(f.Repair))
	if f.Part != "" {
		t.add(Next, "part", "what", f.Part)
	}
	switch n := len(t.checksFor(j.Call.Fault)); n {
	case 0:
	case 1:
		t.add(Next, "checks-one")
	default:
		t.add(Next, "checks", "n", strconv.Itoa(n))
	}
	t.caution(f.Cautions, true)
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
	t.add(Next, phrase, "name", m.Name)
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
// ceiling the nearer.
func (t *turn) againstLimit(f *knowledge.Fault, it *rules.Item, shown string) string {
	x := findingOn(f, it)
	if x == nil {
		return shown
	}
	lo, hasLo := t.named(x.AtLeast)
	hi, hasHi := t.named(x.AtMost)
	q := it.Reading.Quantity()
	switch {
	case hasLo && it.Value >= lo && (!hasHi || it.Value-lo < hi-it.Value):
		return t.say("at-least", "item", shown, "limit", t.value(q, lo))
	case hasHi && it.Value <= hi:
		return t.say("at-most", "item", shown, "limit", t.value(q, hi))
	}
	return shown
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
	v, _ := t.base.Resolve(*b, t.job.Situation.Facts)
	return v, true
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

// askStep asks the question: what, how, what the answers would mean, the caution.
func (t *turn) askStep() {
	a := t.job.Asked
	switch {
	case a.Fact != "":
		t.add(Next, "ask-fact", "ask", t.base.Facts[a.Fact].Ask)
		return
	case a.Observation != "":
		t.askObservation(a)
	default:
		t.askReading(a)
	}
	if a.Purpose != rules.ToRecheck && a.Purpose != rules.ToConfirm && !t.askedBefore {
		t.means(a)
	}
}

func (t *turn) askObservation(a *rules.Ask) {
	o := t.base.Observations[a.Observation]
	switch {
	case a.Purpose == rules.ToConfirm:
		t.reread()
	case a.Purpose == rules.ToRecheck:
		t.add(Next, "ask-recheck-seen", "ask", o.Ask, "value", t.item(&t.evidence()[a.Doubts]))
	case a.State == knowledge.Standing:
		t.add(Next, "ask-observation-standing", "ask", o.Ask)
	default:
		t.add(Next, "ask-observation", "ask", o.Ask)
	}
	t.caution(o.Cautions, false)
}

func (t *turn) askReading(a *rules.Ask) {
	m := t.base.Measurements[a.Reading]
	s := t.job.Situation
	switch {
	case s.CannotTake[a.Key()] || s.CannotTake[string(a.Reading)] || s.Lacks[m.Instrument]:
		t.add(Next, "ask-again", "name", m.Name)
	case a.Purpose == rules.ToConfirm:
		t.reread()
	case a.Purpose == rules.ToRecheck:
		it := t.evidence()[a.Doubts]
		t.add(Next, "ask-recheck", "name", m.Name, "value", t.value(it.Reading.Quantity(), it.Value))
	case m.AtStart && a.State == knowledge.Calling && m.Through != nil:
		t.add(Next, "ask-reading-start", "name", m.Name)
	default:
		t.add(Next, "ask-reading", "name", m.Name, "state", t.stateNote(m, a.State))
	}
	if m.Leads != "" && a.Purpose != rules.ToConfirm && a.Purpose != rules.ToRecheck && !t.askedBefore && !t.has("ask-how") {
		t.add(How, "ask-how", "setting", sentence(m.Setting), "leads", m.Leads)
	}
	t.caution(m.Cautions, false)
}

// stateNote says which state of the machine a reading wants, where the setting
// does not say it already.
func (t *turn) stateNote(m *knowledge.Measurement, state string) string {
	if strings.Contains(m.Setting, "power off") || state == "" {
		return ""
	}
	if state == knowledge.Calling && t.job.Situation.State == knowledge.Calling && len(m.States) == 1 {
		return ""
	}
	return t.base.Phrases["state-"+state]
}

// answerGroup is answers that come to the same: alike figures, or the same fault
// left leading.
type answerGroup struct {
	answer string
	value  float64
	leaves []rules.Suspect
}

// means says what each answer would point to, the likeliest answers first.
func (t *turn) means(a *rules.Ask) {
	var groups []answerGroup
	for _, o := range a.Outcomes {
		if o.Probability < 0.04 || len(o.Leaves) == 0 {
			continue
		}
		g := answerGroup{t.answerText(a, o), o.Value, o.Leaves}
		if !slices.ContainsFunc(groups, func(h answerGroup) bool { return h.like(g) }) {
			groups = append(groups, g)
		}
	}
	if len(groups) < 2 {
		return
	}
	var parts []string
	for _, g := range groups[:min(3, len(groups))] {
		var names []string
		for _, s := range g.leaves[:min(2, len(g.leaves))] {
			if len(names) == 0 || s.Probability > 0.15 {
				names = append(names, t.short(s.Fault))
			}
		}
		parts = append(parts, t.say("means", "answer", sentence(g.answer), "faults", t.either(names)))
	}
	t.lines = append(t.lines, Line{Means, strings.Join(parts, " ")})
}

// like: within a fifth of each other a person would not call two figures two
// answers.
func (g answerGroup) like(h answerGroup) bool {
	if g.answer == h.answer || g.leaves[0].Fault == h.leaves[0].Fault {
		return true
	}
	return g.value > 1 && h.value > 1 && math.Abs(g.value-h.value) < 0.2*max(g.value, h.value)
}

func (t *turn) answerText(a *rules.Ask, o rules.Outcome) string {
	if a.Observation != "" {
		return plain(o.Seen)
	}
	v := t.rough(a.Reading.Quantity(), o.Value)
	if math.IsInf(o.Value, 1) || strings.HasPrefix(v, "0 ") {
		return v
	}
	return t.say("about", "value", v)
}

// caution adds the cautions that apply and were not said on this job yet; with a
// repair the deferral to codes and licences is said again.
func (t *turn) caution(ids []string, repair bool) {
	ids = slices.Clone(ids)
	slices.SortStableFunc(ids, func(a, b string) int { return cmp.Compare(t.rank(a), t.rank(b)) })
	said := 0
	for _, id := range ids {
		c := t.base.Cautions[id]
		if c == nil || t.job.said[id] && !(repair && c.Once) || !t.ofClass(c) {
			continue
		}
		if said == 2 && !repair {
			break
		}
		t.job.said[id] = true
		t.lines = append(t.lines, Line{Caution, c.Text})
		said++
	}
}

// ofClass says whether a caution is for this unit's refrigerant; before the plate
// is read it may be.
func (t *turn) ofClass(c *knowledge.Caution) bool {
	r := t.base.Refrigerants[t.job.Situation.Facts["refrigerant"]]
	return len(c.Classes) == 0 || r == nil || slices.Contains(c.Classes, r.Class)
}

func (t *turn) rank(id string) int {
	if c := t.base.Cautions[id]; c != nil {
		return c.Rank
	}
	return math.MaxInt
}

func plain(id string) string { return strings.ReplaceAll(id, "-", " ") }

func join(parts []string) string { return strings.Join(parts, "; ") }

// sentence starts with a capital.
func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
