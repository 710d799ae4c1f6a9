package prove

import (
	"strconv"

	"proveout/knowledge"
	"proveout/rules"
)

// proven looks a fault's proof up in the evidence. It is written against the
// knowledge alone and shares no line with the engine's own look-up, whose word it
// checks.
func proven(m *rules.Model, base *knowledge.Base, s *rules.Situation, fault string) bool {
	steps := base.Faults[fault].Proof
	for _, step := range steps {
		met := false
		for _, way := range step.AnyOf {
			met = met || wayMet(m, base, s, way)
		}
		if !met {
			return false
		}
	}
	return len(steps) > 0
}

func wayMet(m *rules.Model, base *knowledge.Base, s *rules.Situation, way knowledge.ProofWay) bool {
	for _, f := range way {
		if f.Fact != "" {
			if !factHolds(base, s, f) {
				return false
			}
			continue
		}
		fitted := f.Observation != "" || m.Reachable(f.Reading) || base.Measurements[knowledge.ReadingID(f.Reading)].Reported
		if fitted && !anyHolds(m, base, s, f) {
			return false
		}
	}
	return true
}

// anyHolds says whether an item of evidence is what a finding wants. In a game a
// point holds one item, a repeat having replaced the first.
func anyHolds(m *rules.Model, base *knowledge.Base, s *rules.Situation, f knowledge.Finding) bool {
	for _, it := range s.Evidence {
		if f.State != "" && it.State != f.State {
			continue
		}
		if f.Observation != "" && it.Subject == f.Observation && it.Seen == f.Is {
			return true
		}
		if f.Reading != "" && string(it.Reading) == f.Reading && within(m, base, s, f, it.Value) {
			return true
		}
	}
	return false
}

func factHolds(base *knowledge.Base, s *rules.Situation, f knowledge.Finding) bool {
	if f.Is != "" {
		return s.Facts[f.Fact] == f.Is
	}
	v, err := strconv.ParseFloat(s.Facts[f.Fact], 64)
	return err == nil && holds(base, s, f.AtLeast, f.AtMost, v)
}

func within(m *rules.Model, base *knowledge.Base, s *rules.Situation, f knowledge.Finding, v float64) bool {
	if !holds(base, s, f.AtLeast, f.AtMost, v) {
		return false
	}
	if f.SaturationAtLeast == nil && f.SaturationAtMost == nil {
		return true
	}
	t, ok := m.Saturation(knowledge.ReadingID(f.Reading), v)
	return ok && s.Facts["refrigerant"] != "" && holds(base, s, f.SaturationAtLeast, f.SaturationAtMost, t)
}

// holds says whether a value lies from low to high; where nobody has told what a
// bound rests on it does not.
func holds(base *knowledge.Base, s *rules.Situation, low, high *knowledge.Figure, v float64) bool {
	if low != nil {
		if limit, known := base.Resolve(*low, s.Facts); !known && base.Facts[low.Name] != nil || v < limit {
			return false
		}
	}
	if high != nil {
		if limit, known := base.Resolve(*high, s.Facts); !known && base.Facts[high.Name] != nil || v > limit {
			return false
		}
	}
	return true
}
