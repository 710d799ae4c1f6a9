package rules

import (
	"slices"
	"strconv"

	"proveout/knowledge"
)

// proof is how far a fault's proof is in hand.
type proof struct {
	complete bool
	by       []int // evidence that proves it
	missing  []knowledge.Finding
	fact     string // a fact the next finding needs first
	blocked  bool   // a step no way of which can still be met
}

// proofOf looks a fault's proof up in the evidence. For a step not yet met it
// names the findings of the way that takes the fewest minutes.
func (b *belief) proofOf(s *Situation, fault string) proof {
	f := b.m.base.Faults[fault]
	if len(f.Proof) == 0 {
		return proof{blocked: true} // what nothing proves is not called
	}
	out := proof{complete: true}
	for _, step := range f.Proof {
		by, ok := b.stepMet(s, step)
		if ok {
			out.by = append(out.by, by...)
			continue
		}
		out.complete = false
		missing, fact, ok := b.cheapestWay(s, step)
		if !ok {
			out.blocked = true
			continue
		}
		if out.missing == nil {
			out.missing, out.fact = missing, fact
		}
	}
	slices.Sort(out.by)
	out.by = slices.Compact(out.by)
	return out
}

func (b *belief) stepMet(s *Situation, step knowledge.ProofStep) ([]int, bool) {
	for _, way := range step.AnyOf {
		by := []int{}
		for _, f := range way {
			if !b.m.onUnit(f) || b.factHolds(s, f) {
				continue
			}
			i, held := b.find(s, f)
			if !held {
				by = nil
				break
			}
			by = append(by, i)
		}
		if by != nil {
			return by, true
		}
	}
	return nil, false
}

// factHolds says whether a finding on a fact is told to be so.
func (b *belief) factHolds(s *Situation, f knowledge.Finding) bool {
	told, ok := s.Facts[f.Fact]
	if f.Fact == "" || !ok {
		return false
	}
	if f.Is != "" {
		return told == f.Is
	}
	v, err := strconv.ParseFloat(told, 64)
	return err == nil && b.within(s, f, v)
}

// find looks for a finding in the evidence: the place of the latest item on that
// point, and whether it holds. i is -1 when there is none.
func (b *belief) find(s *Situation, f knowledge.Finding) (i int, held bool) {
	for i := len(s.Evidence) - 1; i >= 0; i-- {
		it := &s.Evidence[i]
		if f.State != "" && it.State != "" && it.State != f.State || s.isAside(i) || b.m.unreadable(it) {
			continue
		}
		if it.State == "" && f.State == knowledge.Standing && it.Reading.Quantity() == "pressure" {
			continue // it may as well be the running machine's
		}
		if f.Observation != "" && it.Subject == f.Observation {
			if it.Seen == f.Is {
				return i, true
			}
			if !slices.Contains(b.compatible(s, f), i) {
				return i, false
			}
		}
		if f.Reading != "" && string(it.Reading) == f.Reading {
			return i, b.within(s, f, it.Value)
		}
	}
	return -1, false
}

// compatible lists sightings of a finding's subject that do not speak against it:
// a subject may be in several states at once (a fan that runs and is noisy).
func (b *belief) compatible(s *Situation, f knowledge.Finding) []int {
	o := b.m.base.Observations[f.Observation]
	if o == nil {
		return nil
	}
	var out []int
	for i := range s.Evidence {
		it := &s.Evidence[i]
		if it.Subject == f.Observation && slices.Contains(o.Beside, it.Seen) {
			out = append(out, i)
		}
	}
	return out
}

// within says whether a value lies within a finding's bounds, a pressure within
// those of its saturation temperature. Against a bound nobody has told it does not,
// nor does a pressure of a refrigerant nobody has told.
func (b *belief) within(s *Situation, f knowledge.Finding, v float64) bool {
	if !b.between(s, f.AtLeast, f.AtMost, v) {
		return false
	}
	if !f.BySaturation() {
		return true
	}
	temperature, ok := b.m.here.Saturation(knowledge.ReadingID(f.Reading), v)
	_, told := s.Facts["refrigerant"]
	return ok && told && b.between(s, f.SaturationAtLeast, f.SaturationAtMost, temperature)
}

func (b *belief) between(s *Situation, low, high *knowledge.Figure, v float64) bool {
	for _, bound := range []struct {
		f   *knowledge.Figure
		low bool
	}{{low, true}, {high, false}} {
		if bound.f == nil {
			continue
		}
		limit, known := b.m.base.Resolve(*bound.f, s.Facts)
		if !known && b.m.base.Facts[bound.f.Name] != nil {
			return false
		}
		if bound.low && v < limit || !bound.low && v > limit {
			return false
		}
	}
	return true
}

// unknownFact names the fact a finding waits for: itself, or what its bounds rest
// on.
func (b *belief) unknownFact(s *Situation, f knowledge.Finding) string {
	if _, told := s.Facts[f.Fact]; f.Fact != "" && !told {
		return b.m.wanting(s, f.Fact)
	}
	if _, told := s.Facts["refrigerant"]; f.BySaturation() && !told {
		return "refrigerant"
	}
	for _, bound := range f.Bounds() {
		if b.m.base.Facts[bound.Name] == nil {
			continue
		}
		if _, known := b.m.base.Resolve(*bound, s.Facts); !known {
			return b.m.wanting(s, bound.Name)
		}
	}
	return ""
}

// cheapestWay finds, among a step's ways nothing speaks against, the one of
// fewest minutes, and what it still lacks.
func (b *belief) cheapestWay(s *Situation, step knowledge.ProofStep) (missing []knowledge.Finding, fact string, ok bool) {
	best := -1.0
	for _, way := range step.AnyOf {
		minutes, lacks, need, usable := b.wayLeft(s, way)
		if usable && (best < 0 || minutes < best) {
			best, missing, fact, ok = minutes, lacks, need, true
		}
	}
	return missing, fact, ok
}

func (b *belief) wayLeft(s *Situation, way knowledge.ProofWay) (minutes float64, lacks []knowledge.Finding, fact string, usable bool) {
	state, place := s.State, s.Place
	for _, f := range way {
		if !b.m.onUnit(f) || b.factHolds(s, f) {
			continue
		}
		if need := b.unknownFact(s, f); need != "" {
			if s.CannotTake[need] {
				return 0, nil, "", false
			}
			minutes += b.m.base.Facts[need].Minutes
			if fact == "" {
				fact = need
			}
		} else if i, held := b.find(s, f); held {
			continue
		} else if i >= 0 {
			return 0, nil, "", false
		}
		if f.Fact != "" {
			if _, told := s.Facts[f.Fact]; told {
				return 0, nil, "", false // told to be otherwise
			}
			continue
		}
		if i, _ := b.find(s, f); i >= 0 {
			continue // read, and only its yardstick is unknown
		}
		t := b.m.testFor(f)
		if t == nil || !b.m.takeable(s, t) {
			return 0, nil, "", false
		}
		minutes += b.m.minutes(state, place, t)
		state, place = t.state, t.where
		lacks = append(lacks, f)
	}
	return minutes, lacks, fact, true
}

// onUnit says whether a finding's point exists on this unit: nothing is asked of
// a part that is not fitted.
func (m *Model) onUnit(f knowledge.Finding) bool {
	if k := m.base.Measurements[knowledge.ReadingID(f.Reading)]; k != nil && !k.Reported {
		return m.Reachable(f.Reading)
	}
	return true
}

// testFor is the test that would make a finding.
func (m *Model) testFor(f knowledge.Finding) *test {
	it := Item{Reading: knowledge.ReadingID(f.Reading), Subject: f.Observation, State: f.State}
	t := m.testOf(&it)
	if t != nil && f.State == "" && t.reading != "" && !t.askable {
		for _, s := range knowledge.States {
			if u := m.byKey[key(f.Reading, s)]; u != nil && u.askable {
				return u
			}
		}
	}
	return t
}
