package main

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// unit is a kind of equipment compiled with what must be told of it for some of
// its faults to be possible.
type unit struct {
	equipment string
	facts     map[string]string
	model     *rules.Model
}

// String names the unit by its equipment and the facts told.
func (u unit) String() string {
	out := []string{u.equipment}
	for _, f := range slices.Sorted(maps.Keys(u.facts)) {
		out = append(out, f+" "+u.facts[f])
	}
	return strings.Join(out, ", ")
}

// compile builds the fault engine of every kind of equipment: as it usually is, and
// with the facts told that a fault or a point needs and that are not usual.
func compile(base *knowledge.Base) ([]unit, error) {
	var units []unit
	for _, id := range slices.Sorted(maps.Keys(base.Equipment)) {
		for _, facts := range variants(base) {
			m, err := rules.Compile(base, id, facts)
			if err != nil {
				return nil, finding(fmt.Sprintf("equipment/%s cannot be diagnosed: %v", id, err))
			}
			units = append(units, unit{id, facts, m})
		}
	}
	return units, nil
}

// variants lists the facts to tell: none, and whatever a fault or a point needs.
func variants(base *knowledge.Base) []map[string]string {
	out := []map[string]string{nil}
	add := func(needs map[string]string) {
		facts := map[string]string{}
		for f, v := range needs {
			if base.Facts[f] != nil && base.Facts[f].Default != v {
				facts[f] = v
			}
		}
		if len(facts) > 0 && !slices.ContainsFunc(out, func(have map[string]string) bool { return maps.Equal(have, facts) }) {
			out = append(out, facts)
		}
	}
	for _, id := range slices.Sorted(maps.Keys(base.Faults)) {
		add(base.Faults[id].Needs)
	}
	for _, id := range slices.Sorted(maps.Keys(base.Measurements)) {
		add(base.Measurements[id].Needs)
	}
	return out
}

// faultMistakes finds faults that could never be called, and those that nothing
// tells apart and that are not declared alike.
func faultMistakes(base *knowledge.Base, units []unit) knowledge.Errors {
	var out knowledge.Errors
	possible, said := map[string]bool{}, map[string]bool{}
	once := func(key string, e *knowledge.Error) {
		if !said[key] {
			said[key] = true
			out = append(out, e)
		}
	}
	for _, u := range units {
		for _, t := range u.model.Truths() {
			possible[t.Fault] = true
		}
		for _, x := range u.model.Unprovable() {
			once(x.Fault, base.Mistake("faults/"+x.Fault,
				fmt.Sprintf("step %d of its proof is not met by the fault itself (%s)", x.Step+1, degree(base, x.Fault, x.Degree, u)),
				"let a way of the step ask for what the fault shows there", "proof", x.Step))
		}
		for _, t := range u.model.Indistinct() {
			if base.Faults[t.A].AlikeIn(t.DegreeA)[t.B] == "" && base.Faults[t.B].AlikeIn(t.DegreeB)[t.A] == "" {
				once(t.A+" "+t.B, base.Mistake("faults/"+t.B,
					fmt.Sprintf("nothing that may be asked tells it from %s (%s; %s)", t.A, degree(base, t.B, t.DegreeB, u), degree(base, t.A, t.DegreeA, u)),
					"add a measurement or an observation that does, or declare `alike: {"+t.A+": the reason}`"))
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(base.Faults)) {
		if base.Faults[id].Weight > 0 && !possible[id] {
			out = append(out, base.Mistake("faults/"+id, "no unit can have it, since its parts are not fitted", "name under needs: what must be fitted", "modes"))
		}
	}
	return out
}

// degree says which degree of a fault on which unit is meant.
func degree(base *knowledge.Base, fault string, n int, u unit) string {
	var out []string
	if len(base.Faults[fault].Variants) > 1 {
		out = append(out, fmt.Sprintf("in degree %d", n+1))
	}
	return strings.Join(append(out, "on "+u.String()), ", ")
}
