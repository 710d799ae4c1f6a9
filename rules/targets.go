package rules

import (
	"maps"
	"slices"
	"strconv"

	"proveout/knowledge"
	"proveout/rules/target"
)

// targets are the published tables facts are made from, by fact.
type targets map[string]*target.Table

// targetsOf reads the tables the base's facts name.
func targetsOf(base *knowledge.Base) (targets, error) {
	out := targets{}
	for _, id := range slices.Sorted(maps.Keys(base.Facts)) {
		f := base.Facts[id]
		if f.Target == nil || base.Targets[f.Target.Table] == nil {
			continue
		}
		t, err := target.New(base.Targets[f.Target.Table])
		if err != nil {
			return nil, err
		}
		out[id] = t
	}
	return out, nil
}

// fill adds the facts that follow from others by a published table: what was told
// stands, and where the table has no target nothing is added.
func (ts targets) fill(base *knowledge.Base, told map[string]string) {
	for id, t := range ts {
		if _, known := told[id]; known {
			continue
		}
		of := base.Facts[id].Target.Of
		down, okDown := strconv.ParseFloat(told[of[0]], 64)
		across, okAcross := strconv.ParseFloat(told[of[1]], 64)
		if okDown != nil || okAcross != nil {
			continue
		}
		if v, err := t.At(down, across); err == nil {
			told[id] = strconv.FormatFloat(v, 'f', 1, 64)
		}
	}
}
