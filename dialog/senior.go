package dialog

import (
	"slices"
	"strings"
	"unicode"
)

// senior takes a senior's confirmation, overruling or hand.
func (t *turn) senior() {
	j := t.job
	who := t.msg.Name
	if who == "" {
		who = t.say("senior-unnamed")
	}
	switch {
	case t.has("override"):
		t.overrule(who)
	case t.has("confirm") && j.Call != nil && (j.Status == Proposed || j.Status == Repairing):
		j.Status, t.ruled = Confirmed, true // not the technician's to undo
		t.add(Verdict, "confirmed", "who", who, "fault", t.fault(j.Call.Fault))
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
	j.Status, j.Call, j.Proof, t.ruled = Measuring, nil, nil, true
	if named == "" {
		if len(t.job.Situation.Overruled) == 0 {
			t.add(Answer, "override-how", "fault", t.exampleFault())
		}
		return
	}
	j.Situation.Ruled = named
	t.add(Verdict, "ruled", "who", who, "fault", t.fault(named))
}

// faultNamed finds the fault a text names: the one of whose name, short name or id
// the most words are in it, with no other as good.
func (t *turn) faultNamed(text string) string {
	said := words(text)
	best, second, which := 0.0, 0.0, ""
	for _, id := range t.model.Faults() {
		score := match(said, id)
		for _, a := range t.tongues { // a senior names it as he is used to
			score = max(score, match(said, a.fault(id)), match(said, a.short(id)))
		}
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
	for _, w := range strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) }) {
		if len(w) > 2 && !slices.Contains([]string{"the", "with", "that", "not", "and", "override", "its", "los", "las", "del", "con", "que", "sin", "por"}, w) {
			out = append(out, w)
		}
	}
	return out
}

// exampleFault is a fault to show how a cause is named.
func (t *turn) exampleFault() string {
	if d := t.model.Diagnose(&t.job.Situation); len(d.Suspects) > 0 {
		return t.fault(d.Suspects[0].Fault)
	}
	return t.fault(t.model.Faults()[0])
}
