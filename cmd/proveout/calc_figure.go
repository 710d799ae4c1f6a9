package main

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

// More units than readings are said in: for flags and for computations. Factors from
// NIST SP 811; a watt's heat as the trade rounds it, 3413 Btu/h for 1 kW.
var moreUnits = map[string]knowledge.Quantity{
	"altitude": {Name: "altitude", Unit: "ft", Units: []knowledge.UnitWords{
		{Words: []string{"ft", "feet", "foot", "'"}, Factor: 1},
		{Words: []string{"m", "meter", "meters", "metre", "metres"}, Factor: 3.280840},
	}},
	"absolute pressure": {Name: "absolute pressure", Unit: "psia", Units: []knowledge.UnitWords{
		{Words: []string{"psia", "psi abs", "psi absolute"}, Factor: 1},
		{Words: []string{"kpaa", "kpa abs", "kpa absolute", "kpa(a)"}, Factor: 0.1450377},
		{Words: []string{"mpaa", "mpa abs"}, Factor: 145.0377},
		{Words: []string{"bara", "bar abs", "bar a", "bar(a)"}, Factor: 14.50377},
	}},
	"heat": {Name: "heat", Unit: "Btu/h", Units: []knowledge.UnitWords{
		{Words: []string{"btu/h", "btuh", "btu", "btu/hr"}, Factor: 1},
		{Words: []string{"w", "watt", "watts"}, Factor: 3.413},
		{Words: []string{"kw", "kilowatt", "kilowatts"}, Factor: 3413},
	}},
	"rating": {Name: "rating", Unit: "VA", Units: []knowledge.UnitWords{
		{Words: []string{"va", "volt-amps"}, Factor: 1},
		{Words: []string{"kva"}, Factor: 1000},
	}},
	"share": {Name: "share", Unit: "%", Units: []knowledge.UnitWords{
		{Words: []string{"%", "percent", "pct"}, Factor: 1},
	}},
	"size": {Name: "size", Unit: "tons", Units: []knowledge.UnitWords{
		{Words: []string{"ton", "tons"}, Factor: 1},
	}},
	"frequency": {Name: "frequency", Unit: "Hz", Units: []knowledge.UnitWords{
		{Words: []string{"hz", "hertz"}, Factor: 1},
	}},
}

var (
	numberForm = regexp.MustCompile(`^([-+]?(?:[0-9]{1,3}(?:,[0-9]{3})+|[0-9]*)(?:\.[0-9]*)?)\s*(.*)$`)
	infinite   = []string{"ol", "o.l", "o.l.", "inf", "infinite", "infinity", "open", "∞"}
)

// split takes a figure apart into its number and its unit as said.
func split(text string) (value float64, unit string, err error) {
	plain := strings.ReplaceAll(strings.TrimSpace(text), "−", "-")
	m := numberForm.FindStringSubmatch(plain)
	if m == nil {
		return 0, "", strconv.ErrSyntax
	}
	value, err = strconv.ParseFloat(strings.ReplaceAll(m[1], ",", ""), 64)
	return value, m[2], err
}

// joinUnits puts a unit said apart behind its number: 118 psig.
func joinUnits(args []string) []string {
	var out []string
	for _, arg := range args {
		_, _, err := split(arg)
		last := len(out) - 1
		if err != nil && last >= 0 && !slices.Contains(infinite, strings.ToLower(arg)) {
			if _, unit, err := split(out[last]); err == nil && unit == "" {
				out[last] += arg
				continue
			}
		}
		out = append(out, arg)
	}
	return out
}

// spelt writes a unit as it is looked up: small, without blanks and dots.
func spelt(unit string) string {
	return strings.NewReplacer(" ", "", ".", "").Replace(strings.ToLower(unit))
}

// quantity finds how a quantity's units are said.
func (s *sheet) quantity(name string) knowledge.Quantity {
	if q, ok := moreUnits[name]; ok {
		return q
	}
	if q := s.base.Quantities[name]; q != nil {
		return *q
	}
	return knowledge.Quantity{Name: name}
}

// unitOf finds the unit of a quantity that a word says.
func unitOf(q knowledge.Quantity, word string) (knowledge.UnitWords, bool) {
	for _, u := range q.Units {
		if slices.ContainsFunc(u.Words, func(w string) bool { return spelt(w) == spelt(word) }) {
			return u, true
		}
	}
	return knowledge.UnitWords{}, false
}

// figure reads a figure of a quantity into the unit it is kept in.
func (s *sheet) figure(quantity, text string) float64 {
	if s.err != nil {
		return 0
	}
	q := s.quantity(quantity)
	if quantity == "resistance" && slices.Contains(infinite, strings.ToLower(strings.TrimSpace(text))) {
		return math.Inf(1)
	}
	value, unit, err := split(text)
	if err != nil {
		s.err = fmt.Errorf("%q is no %s; write a number and its unit, such as %s", text, q.Name, sample(q))
		return 0
	}
	if unit != "" {
		u, ok := unitOf(q, unit)
		if !ok {
			s.err = fmt.Errorf("%q in %q is no unit of %s; write it in %s", unit, text, q.Name, strings.Join(unitNames(q), ", "))
			return 0
		}
		value = value*u.Factor + u.Offset
	}
	if low, high := q.Possible[0], q.Possible[1]; low < high && quantity != "pressure" && !(value >= low && value <= high) {
		s.err = fmt.Errorf("%s is no possible %s, which is %g to %g %s; check the figure and its unit", text, q.Name, low, high, q.Unit)
		return 0
	}
	return value
}

// sample is how a figure of a quantity is written.
func sample(q knowledge.Quantity) string {
	return map[string]string{
		"pressure": "118psig", "absolute pressure": "914kPaa", "temperature": "64F", "current": "4.2A", "voltage": "240V",
		"resistance": "0.8ohm", "capacitance": "45uF", "altitude": "5000ft", "relative humidity": "50%", "heat": "10kW",
		"static pressure": "0.5inwc", "airflow": "1200cfm", "time": "15min", "rating": "40VA",
	}[q.Name]
}

func unitNames(q knowledge.Quantity) []string {
	var out []string
	for _, u := range q.Units {
		out = append(out, u.Words[0])
	}
	return out
}

// says reports which of several quantities a figure's unit belongs to; a figure
// without a unit belongs to none.
func (s *sheet) says(text string, quantities ...string) (string, error) {
	_, unit, err := split(text)
	if err == nil && unit != "" {
		for _, name := range quantities {
			if _, ok := unitOf(s.quantity(name), unit); ok {
				return name, nil
			}
		}
	}
	var or []string
	for _, name := range quantities {
		or = append(or, sample(s.quantity(name))+" for "+s.quantity(name).Name)
	}
	return "", fmt.Errorf("%q does not say what it is; write %s", text, strings.Join(or, " or "))
}

// psia reads a pressure, gauge or absolute, into psia.
func (s *sheet) psia(text string) float64 {
	if s.err != nil {
		return 0
	}
	if name, err := s.says(text, "absolute pressure"); err == nil {
		p := s.figure(name, text)
		if s.err == nil && !(p > 0) {
			s.err = fmt.Errorf("%s is no absolute pressure: it must be above 0; for what a gauge reads write psig or kPa", text)
		}
		return p
	}
	gauge := s.figure("pressure", text)
	if s.err != nil {
		return 0
	}
	var p float64
	p, s.err = refrigerant.Absolute(gauge, s.atmosphere)
	return p
}

// f reads a temperature, °F.
func (s *sheet) f(text string) float64 { return s.figure("temperature", text) }

// difference reads a temperature difference, °F.
func (s *sheet) difference(text string) float64 { return s.figure("superheat", text) }

// flag reads a figure given by a flag: NaN when it was not given.
func (s *sheet) flag(quantity, name, text string) float64 {
	if text == "" || s.err != nil {
		return math.NaN()
	}
	v := s.figure(quantity, text)
	if s.err != nil {
		s.err = fmt.Errorf("--%s: %w", name, s.err)
	}
	return v
}

// refrigerantID finds a refrigerant however it is written: R-410A, r410a, 410a.
func (s *sheet) refrigerantID(text string) string {
	if s.err != nil {
		return ""
	}
	bare := func(t string) string {
		return strings.TrimPrefix(strings.NewReplacer("-", "", " ", "", "−", "").Replace(strings.ToUpper(t)), "R")
	}
	for id := range s.base.Refrigerants {
		if bare(id) == bare(text) {
			return id
		}
	}
	s.err = fmt.Errorf("there is no table of refrigerant %q; name one of %s", text, strings.Join(ids(s.base.Refrigerants), ", "))
	return ""
}
