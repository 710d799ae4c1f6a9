package main

import (
	"fmt"
	"io"
	"math"
	"strings"
	"unicode/utf8"
)

// answer is the result of a computation: lines for a person, fields for a program.
type answer struct {
	labels, lines []string
	fields        map[string]any
	notes         []string
	doubts        []string
	formula       string
	source        string
}

// newAnswer begins an answer with the formula and the source it rests on.
func newAnswer(formula, source string) *answer {
	return &answer{fields: map[string]any{"formula": formula, "source": source}, formula: formula, source: source}
}

// written shows a figure to a person.
type written func(float64) string

// add puts a figure into the answer under a label and a field's name.
func (a *answer) add(key, label string, v float64, show written) {
	a.labels, a.lines = append(a.labels, label), append(a.lines, show(v))
	a.field(key, v)
}

// field puts a figure into the fields only; NaN is left out.
func (a *answer) field(key string, v float64) {
	switch {
	case math.IsInf(v, 1):
		a.fields[key] = "inf"
	case !math.IsNaN(v):
		a.fields[key] = v
	}
}

// say puts a text into the answer.
func (a *answer) say(key, label, text string) {
	a.labels, a.lines = append(a.labels, label), append(a.lines, text)
	a.fields[key] = text
}

// note adds a sentence for a person under the figures.
func (a *answer) note(format string, args ...any) {
	a.notes = append(a.notes, fmt.Sprintf(format, args...))
	a.fields["notes"] = a.notes
}

// doubt adds a reason why the figures cannot be right, or may not be used.
func (a *answer) doubt(text string) {
	a.doubts = append(a.doubts, text)
	a.fields["doubts"] = a.doubts
}

// rest adds a source.
func (a *answer) rest(source string) {
	a.source += "; " + source
	a.fields["source"] = a.source
}

func (a *answer) print(out io.Writer, asJSON bool) error {
	if asJSON {
		return writeJSON(out, a.fields)
	}
	width := utf8.RuneCountInString("formula")
	for _, l := range a.labels {
		width = max(width, utf8.RuneCountInString(l))
	}
	var b strings.Builder
	row := func(label, text string) {
		b.WriteString(label + strings.Repeat(" ", width-utf8.RuneCountInString(label)+2) + text + "\n")
	}
	for i, l := range a.labels {
		row(l, a.lines[i])
	}
	for _, n := range a.notes {
		row("note", n)
	}
	row("formula", a.formula)
	row("source", a.source)
	if _, err := io.WriteString(out, b.String()); err != nil {
		return fmt.Errorf("writing the answer: %w", err)
	}
	return nil
}

func degrees(f float64) string    { return fmt.Sprintf("%.2f °F (%.2f °C)", f, (f-32)/1.8) }
func difference(f float64) string { return fmt.Sprintf("%.2f °F (%.2f K)", f, f/1.8) }
func absolutely(p float64) string {
	return fmt.Sprintf("%.2f psia (%.1f kPa absolute)", p, p/0.1450377)
}
func byGauge(p float64) string     { return fmt.Sprintf("%.2f psig (%.1f kPa)", p, p/0.1450377) }
func percent(v float64) string     { return fmt.Sprintf("%.2f %%", v) }
func volts(v float64) string       { return fmt.Sprintf("%.1f V", v) }
func amps(v float64) string        { return fmt.Sprintf("%.2f A", v) }
func microfarads(v float64) string { return fmt.Sprintf("%.2f µF", v) }
func airflow(v float64) string     { return fmt.Sprintf("%.0f cfm (%.0f L/s)", v, v/2.118880) }
func water(v float64) string       { return fmt.Sprintf("%.2f in. w.c. (%.0f Pa)", v, v/0.004014631) }
func heat(v float64) string        { return fmt.Sprintf("%.0f Btu/h (%.2f kW)", v, v/3412.142) }
func feet(v float64) string        { return fmt.Sprintf("%.0f ft (%.0f m)", v, v*0.3048) }

// in shows a figure to so many decimals in a unit.
func in(decimals int, name string) written {
	return func(v float64) string { return fmt.Sprintf("%.*f %s", decimals, v, name) }
}

// ohms shows a resistance in the unit it is said in.
func ohms(v float64) string {
	switch {
	case math.IsInf(v, 1):
		return "infinite (OL)"
	case v >= 1e6:
		return fmt.Sprintf("%.4g MΩ", v/1e6)
	case v >= 1e3:
		return fmt.Sprintf("%.4g kΩ", v/1e3)
	}
	return fmt.Sprintf("%.2f Ω", v)
}
