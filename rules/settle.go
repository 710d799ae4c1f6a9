package rules

import (
	"math"
	"slices"

	"proveout/knowledge"
)

// Settle gives pressures whose state nobody told the state the rest tells: those of a
// compressor seen running, or held apart, belong to the running machine; those of one
// seen off, or grown level, to the standing one.
func (m *Model) Settle(s *Situation) {
	state := s.pressuresAre(m.base.Limits["pressures-held-apart"].Value, m.base.Limits["pressures-level"].Value)
	for i := range s.Evidence {
		it := &s.Evidence[i]
		if it.State == "" && it.Reading.Quantity() == "pressure" {
			it.State = state
		}
	}
}

// pressuresAre is the state the pressures without one belong to, empty when nothing
// tells: apart is the ratio of liquid to suction from which a compressor holds them
// so, level the one within which they stand alike.
func (s *Situation) pressuresAre(apart, level float64) string {
	seen := ""
	for _, it := range s.Evidence {
		if it.Subject == "compressor" && it.State != knowledge.Standing {
			seen = it.Seen
		}
	}
	ratio := math.NaN()
	if low, ok := s.stateless(suction); ok {
		if high, ok := s.stateless(liquid); ok && low > 0 {
			ratio = high / low
		}
	}
	switch {
	case slices.Contains([]string{"running", "noisy", "slow"}, seen):
		return knowledge.Calling
	case ratio >= apart && seen == "":
		return knowledge.Calling
	case seen == "off" && !(ratio >= apart), seen == "" && ratio <= level && ratio >= 1/level:
		return knowledge.Standing
	}
	return ""
}

func (s *Situation) stateless(id knowledge.ReadingID) (float64, bool) {
	for _, it := range slices.Backward(s.Evidence) {
		if it.Reading == id && it.State == "" {
			return it.Value, true
		}
	}
	return 0, false
}
