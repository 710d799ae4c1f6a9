package main

import (
	"fmt"
	"strconv"
	"strings"
)

// verdicts, as the last column says them.
const (
	holds       = "holds"
	holdsNot    = "**does not hold**"
	notMeasured = "NOT MEASURED"
	noBar       = ""
)

// table is the bars with what was measured, as Markdown, and whether all of them hold.
func table(bars []bar, m *measures) (text string, all bool) {
	var b strings.Builder
	b.WriteString("| what | bar | measured | beside it, in the same run | |\n| --- | --- | --- | --- | --- |\n")
	all = true
	for i := range bars {
		measured, beside, verdict := bars[i].judged(m)
		fmt.Fprintf(&b, "| %s | %s | %s | %s | %s |\n", bars[i].what, bars[i].must, measured, beside, verdict)
		all = all && (verdict == holds || verdict == noBar)
	}
	return b.String(), all
}

// judged gives the last three columns of a bar.
func (b *bar) judged(m *measures) (measured, beside, verdict string) {
	value, ok := m.of(b.measured)
	if !ok {
		return "", "", notMeasured + ": " + m.why(b.measured)
	}
	measured = figure(value) + " " + b.shown
	if b.beside != (metric{}) {
		reference, ok := m.of(b.beside)
		if !ok || reference == 0 {
			return measured, "", notMeasured + ": " + m.why(b.beside)
		}
		value /= reference
		beside = fmt.Sprintf("%s %s %s: %.2f ×", figure(reference), b.shown, b.being, value)
	}
	if b.limit == 0 {
		return measured, beside, noBar
	}
	if b.least && value >= b.limit || !b.least && value <= b.limit {
		return measured, beside, holds
	}
	return measured, beside, holdsNot
}

// figure writes three digits, or the whole number where it has more.
func figure(v float64) string {
	if v >= 1000 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}
