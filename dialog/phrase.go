package dialog

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// say fills a phrase: pairs are the names in braces and what stands for them.
func (a *Agent) say(id string, pairs ...string) string { return a.base.Phrases.Say(id, pairs...) }

// value is a figure of a quantity with its unit, as a person reads it.
func (a *Agent) value(q string, v float64) string {
	if math.IsInf(v, 1) {
		return a.say("open-loop")
	}
	k := a.base.Quantities[q]
	if k == nil {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	unit := a.unit(q)
	// Thousands and millions are said as such: "2.2 MΩ".
	by, decimals := 1.0, k.Decimals
	for _, u := range k.Units {
		if u.Factor >= 1000 && u.Offset == 0 && u.Factor > by && math.Abs(v) >= u.Factor {
			by, unit, decimals = u.Factor, u.Name, max(decimals, 1)
		}
	}
	return figure(v/by, decimals) + " " + unit
}

// unit is what a quantity is shown in.
func (a *Agent) unit(q string) string {
	k := a.base.Quantities[q]
	if k == nil {
		return ""
	}
	return cmp.Or(k.Shown, k.Unit)
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
func (a *Agent) fault(id string) string { return a.base.FaultName(id) }

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
