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

// withTargets is the situation with the targets that follow from what was told.
func (m *Model) withTargets(s *Situation) *Situation {
	out := *s
	out.Facts = maps.Clone(s.Facts)
	if out.Facts == nil {
		out.Facts = map[string]string{}
	}
	m.targets.fill(m.base, out.Facts)
	return &out
}

// wanting is what to ask for where a fact is not told: of a target the first thing its
// table goes by that nobody has told and that can be had, else the fact itself.
func (m *Model) wanting(s *Situation, fact string) string {
	if m.targets[fact] == nil {
		return fact
	}
	of := m.base.Facts[fact].Target.Of
	for _, f := range of {
		if s.CannotTake[f] {
			return fact
		}
	}
	for _, f := range of {
		if _, told := s.Facts[f]; !told {
			return f
		}
	}
	return fact
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
