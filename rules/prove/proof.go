package prove

import (
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
		fitted := f.Observation != "" || m.Reachable(f.Reading) || base.Measurements[knowledge.ReadingID(f.Reading)].Reported
		if fitted && !anyHolds(base, s, f) {
			return false
		}
	}
	return true
}

// anyHolds says whether an item of evidence is what a finding wants. In a game a
// point holds one item, a repeat having replaced the first.
func anyHolds(base *knowledge.Base, s *rules.Situation, f knowledge.Finding) bool {
	for _, it := range s.Evidence {
		if f.State != "" && it.State != f.State {
			continue
		}
		if f.Observation != "" && it.Subject == f.Observation && it.Seen == f.Is {
			return true
		}
		if f.Reading != "" && string(it.Reading) == f.Reading && within(base, s, f, it.Value) {
			return true
		}
	}
	return false
}

func within(base *knowledge.Base, s *rules.Situation, f knowledge.Finding, v float64) bool {
	if f.AtLeast != nil {
		if limit, known := base.Resolve(*f.AtLeast, s.Facts); !known && base.Facts[f.AtLeast.Name] != nil || v < limit {
			return false
		}
	}
	if f.AtMost != nil {
		if limit, known := base.Resolve(*f.AtMost, s.Facts); !known && base.Facts[f.AtMost.Name] != nil || v > limit {
			return false
		}
	}
	return true
}
