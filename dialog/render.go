package dialog

import (
	"cmp"
	"slices"
	"strings"
	"unicode/utf8"

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
			if s.Probability > live {
				lead = append(lead, t.short(s.Fault)+" "+t.percent(s.Probability))
			}
		}
		if now := strings.Join(lead, ", "); now != t.job.led {
			t.add(Proves, "leading", "what", now)
			t.job.led = now
		}
	}
}

// doubted asks about readings that cannot be right together, once a message brings
// one of them.
func (t *turn) doubted() {
	for _, d := range t.d.Doubts {
		if slices.ContainsFunc(t.u.Readings, func(r understand.Reading) bool { return slices.Contains(d.Readings, r.Reading) }) {
			what, slip := sentence(t.say("doubt-"+d.ID, d.Figures...)), sentence(t.say("slip-"+d.ID))
			t.lines = append(t.lines, Line{Part: Question, Text: t.base.Phrases.Count("doubted", len(d.Readings), "what", what, "slip", slip)})
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
			if c == nil || t.probability(s.Fault) < live || t.probability(cause) < live {
				continue
			}
			if t.between(s.Fault, f, cause, c) {
				return
			}
		}
	}
}

// live is the probability from which a suspect is worth a word.
const live = 0.1

func (t *turn) probability(fault string) float64 {
	for _, s := range t.d.Suspects {
		if s.Fault == fault {
			return s.Probability
		}
	}
	return 0
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
	v, _ := t.base.Resolve(*b, t.facts())
	return v, true
}

func plain(id string) string { return strings.ReplaceAll(id, "-", " ") }

func join(parts []string) string { return strings.Join(parts, "; ") }

// sentence starts with a capital.
func sentence(s string) string {
	if s == "" {
		return s
	}
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}
