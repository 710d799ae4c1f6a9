package dialog

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"text/tabwriter"

	"proveout/knowledge"
	"proveout/rules/charge"
)

// beyond is how many standard deviations make a difference worth marking.
const beyond = 2

// measured holds the process readings of this job against a sound machine, once a
// message brings one.
func (t *turn) measured() []Measured {
	if t.d == nil || !t.bringsProcess() {
		return nil
	}
	return t.compared()
}

// compared is every process reading in evidence beside a sound machine's.
func (t *turn) compared() []Measured {
	var out []Measured
	for _, c := range t.d.Compared {
		it := &t.d.Evidence[c.Item]
		if it.State == knowledge.Standing {
			continue
		}
		q := t.base.Quantities[it.Reading.Quantity()]
		if q == nil {
			continue
		}
		out = append(out, Measured{
			Reading: it.Reading, Value: it.Value, Normal: c.Normal, Difference: it.Value - c.Normal, Unit: q.Unit,
			Beyond: math.Abs(it.Value-c.Normal) > beyond*c.Spread,
		})
	}
	return out
}

// bringsProcess says whether this message gave a pressure, a temperature or what
// is made of them.
func (t *turn) bringsProcess() bool {
	for _, r := range t.u.Readings {
		if m := t.base.Measurements[r.Reading]; m != nil && (m.Process || t.feeds(r.Reading)) {
			return true
		}
	}
	return false
}

// feeds says whether a reading is one another is made of.
func (t *turn) feeds(id knowledge.ReadingID) bool {
	for _, m := range t.base.Measurements {
		if m.From == nil {
			continue
		}
		if slices.Contains(m.From.Of, string(id)) {
			return true
		}
	}
	return false
}

// table says the same in aligned lines, a * where the difference is more than
// sound machines differ by. One reading alone needs no table.
func (t *turn) table(rows []Measured) {
	if len(rows) < 2 {
		return
	}
	var b bytes.Buffer
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", t.base.Phrases["table-reading"], t.base.Phrases["table-measured"], t.base.Phrases["table-normal"], t.base.Phrases["table-difference"])
	for _, r := range rows {
		q := r.Reading.Quantity()
		mark := ""
		if r.Beyond {
			mark = " *"
		}
		sign := ""
		if r.Difference > 0 {
			sign = "+"
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s%s%s\n", t.row(r.Reading), t.value(q, r.Value), t.value(q, t.whole(q, r.Normal)), sign, t.value(q, t.whole(q, r.Difference)), mark)
	}
	_ = w.Flush() // into memory, which does not fail
	for line := range strings.Lines(b.String()) {
		t.lines = append(t.lines, Line{Part: Table, Text: strings.TrimRight(line, " \n")})
	}
}

// whole leaves the decimals away where tenths say nothing.
func (t *turn) whole(quantity string, v float64) float64 {
	if k := t.base.Quantities[quantity]; k != nil && k.Decimals > 1 {
		return v
	}
	return math.Round(v)
}

// charge says what the published check makes of the charge, or which condition
// keeps it from being judged, when that is news. One is enough to act on.
func (t *turn) charge() {
	if len(t.u.Readings)+len(t.u.Facts) == 0 || t.d.Charge == nil {
		return
	}
	if says := t.chargeVerdict(t.d.Charge); says != t.job.judged {
		t.lines = append(t.lines, Line{Part: Proves, Text: says})
		t.job.judged = says
	}
}

// chargeVerdict is a verdict on the charge in words.
func (t *turn) chargeVerdict(v *charge.Verdict) string {
	if len(v.Unmet) > 0 {
		c := v.Unmet[0]
		return t.say("charge-unmet", "what", t.say("unmet-"+c.Name(), c.Figures...), "mend", sentence(t.say("mend-"+c.Name(), c.Figures...)))
	}
	phrase := map[charge.Call]string{charge.Under: "charge-under", charge.Over: "charge-over", charge.Right: "charge-right"}[v.Call]
	return t.say(phrase, "measured", figure(v.Measured, 1), "target", figure(v.Target, 1), "tolerance", figure(v.Tolerance, 0), "mark", t.base.Phrases.Or("mark-"+dashed(v.Mark), v.Mark))
}
