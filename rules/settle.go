package rules

import (
	"math"
	"slices"

	"proveout/knowledge"
)

// A running compressor holds its two sides at least this far apart, and a standing one
// lets them come this near, as a ratio of gauge pressures.
const (
	pumpedApart = 1.3
	levelled    = 1.05
)

// Settle gives pressures whose state nobody told the state the rest tells: those of a
// compressor seen running, or held apart, belong to the running machine; those of one
// seen off, or grown level, to the standing one.
func (s *Situation) Settle() {
	state := s.pressuresAre()
	for i := range s.Evidence {
		it := &s.Evidence[i]
		if it.State == "" && it.Reading.Quantity() == "pressure" {
			it.State = state
		}
	}
}

// pressuresAre is the state the pressures without one belong to, empty when nothing
// tells.
func (s *Situation) pressuresAre() string {
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
	case ratio >= pumpedApart && seen == "":
		return knowledge.Calling
	case seen == "off" && !(ratio >= pumpedApart), seen == "" && ratio <= levelled && ratio >= 1/levelled:
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
