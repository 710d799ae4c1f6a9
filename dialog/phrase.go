package dialog

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// phrases are the ids the turn uses; knowledge must have each.
var phrases = strings.Fields(`saturated doubted-liquid doubted-suction
	at across percent-most percent-least senior-unnamed button-why button-cannot opening heard heard-nothing changed same converted about range in-standing fact fact-changed
	impossible impossible-vacuum doubt doubted-hoses doubted-probes doubted-cold doubted-hot doubted-bulbs present unclear unclear-bare unclear-more figure or and rules-out leading contradiction undecided ask-reading ask-reading-start ask-how
	ask-observation ask-observation-standing ask-fact ask-confirm ask-confirm-live at-least at-most ask-confirm-seen ask-recheck ask-recheck-seen ask-again state-calling state-standing
	state-de-energised means open-loop why-narrow why-prove why-confirm why-recheck why-fact why-check why-suspect
	why-suspect-prior why-call why-nothing remaining remaining-checks remaining-none how-observation how-fact how-nothing note lacks cannot
	skipped undone undone-step undone-ruled undone-nothing correct-nothing call call-unsure call-unproven proof repair part checks checks-one needs-senior waiting-senior
	call-stands confirmed not-yours nothing-to-confirm overruled ruled override-how senior-asked verifying verifying-early looks-repaired done-what stop-here unconfirmed check
	check-passed check-failed reopened reopened-uncalled closed closed-uncalled closed-unrepaired closed-normal closed-early closed-open table-reading table-measured table-normal table-difference charge-under charge-over charge-right charge-unmet-outdoor-air charge-unmet-return-air charge-unmet-return-air-wet-bulb charge-unmet-airflow charge-unmet-settled charge-unmet-target charge-unmet-reading already-closed help greeting thanks off-topic status
	status-measuring status-proposed status-confirmed status-repairing status-verifying status-closed opened`)

func missingPhrases(base *knowledge.Base) []string {
	var out []string
	for _, id := range phrases {
		if base.Phrases[id] == "" {
			out = append(out, id)
		}
	}
	return out
}

// say fills a phrase: pairs are the names in braces and what stands for them.
func (a *Agent) say(id string, pairs ...string) string {
	for i := 0; i+1 < len(pairs); i += 2 {
		pairs[i] = "{" + pairs[i] + "}"
	}
	return strings.TrimSpace(strings.NewReplacer(pairs...).Replace(a.base.Phrases[id]))
}

// value is a figure of a quantity with its unit, as a person reads it.
func (a *Agent) value(q string, v float64) string {
	if math.IsInf(v, 1) {
		return a.say("open-loop")
	}
	k := a.base.Quantities[q]
	if k == nil {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	unit := k.Shown
	if unit == "" {
		unit = k.Unit
	}
	// Thousands and millions are said as such: "2.2 MΩ".
	by, decimals := 1.0, k.Decimals
	for _, u := range k.Units {
		if u.Factor >= 1000 && u.Offset == 0 && u.Factor > by && math.Abs(v) >= u.Factor {
			by, unit, decimals = u.Factor, u.Name, max(decimals, 1)
		}
	}
	return figure(v/by, decimals) + " " + unit
}

// figure rounds to the decimals a person is shown, more only where the figure
// would vanish, and drops idle zeros.
func figure(v float64, decimals int) string {
	for math.Abs(v) > 0 && math.Abs(v) < math.Pow10(-decimals) && decimals < 3 {
		decimals++
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// rough is a predicted figure: rounded so that nobody takes it for exact.
func (a *Agent) rough(q string, v float64) string {
	switch {
	case math.IsInf(v, 1):
		return a.say("open-loop")
	case math.Abs(v) >= 100:
		v = math.Round(v/5) * 5
	case math.Abs(v) >= 10:
		v = math.Round(v)
	case math.Abs(v) < 0.35 && q != "capacitance":
		v = 0
	default:
		v = math.Round(v*10) / 10
	}
	return a.value(q, v)
}

// point is a reading's place in words.
func (a *Agent) point(id knowledge.ReadingID) string {
	if m := a.base.Measurements[id]; m != nil && m.Point != "" {
		return m.Point
	}
	return strings.ReplaceAll(id.Point(), "-", " ")
}

// name is a reading as it stands after "read the".
func (a *Agent) name(id knowledge.ReadingID) string {
	if m := a.base.Measurements[id]; m != nil && m.Name != "" {
		return m.Name
	}
	return strings.ReplaceAll(id.Quantity(), "-", " ") + " at the " + a.point(id)
}

// fault is a fault's plain name.
func (a *Agent) fault(id string) string {
	if f := a.base.Faults[id]; f != nil {
		return f.Name
	}
	return strings.ReplaceAll(strings.ReplaceAll(id, "/", " "), "-", " ")
}

// short is a fault's name in a list.
func (a *Agent) short(id string) string {
	if f := a.base.Faults[id]; f != nil && f.Short != "" {
		return f.Short
	}
	return a.fault(id)
}

// item is a piece of evidence in words: "24 V at the Y terminal".
func (a *Agent) item(it *rules.Item) string {
	if it.Subject != "" {
		if o := a.base.Observations[it.Subject]; o != nil && o.States[it.Seen] != "" {
			return o.States[it.Seen]
		}
		return strings.ReplaceAll(it.Subject+" "+it.Seen, "-", " ")
	}
	return a.placed(it, a.value(it.Reading.Quantity(), it.Value))
}

// placed is a figure at its point, and the machine's state where that is news.
func (a *Agent) placed(it *rules.Item, figure string) string {
	if m := a.base.Measurements[it.Reading]; m != nil && m.From != nil {
		return m.Name + " " + figure // a figure made of readings is of no one place
	}
	s := a.say(preposition(it.Reading), "figure", figure, "point", a.point(it.Reading))
	if it.State == knowledge.Standing && it.Reading.Quantity() != "resistance" {
		s += ", " + a.say("in-standing")
	}
	return s
}

// preposition names the phrase that joins a figure to its point: a drop is across,
// the rest at.
func preposition(id knowledge.ReadingID) string {
	if strings.HasPrefix(id.Point(), "across-") {
		return "across"
	}
	return "at"
}

// either joins names: "a, b or c"; both: "a, b and c".
func (a *Agent) either(names []string) string { return a.joined(names, "or") }

func (a *Agent) both(names []string) string { return a.joined(names, "and") }

func (a *Agent) joined(names []string, word string) string {
	names = slices.Compact(names)
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + a.base.Phrases[word] + names[len(names)-1]
}
