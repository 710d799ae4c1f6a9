package rules

import (
	"maps"
	"math"
	"slices"

	"proveout/knowledge"
)

// withSums is the situation with what can be made of its readings added to the
// evidence: superheat of a suction pressure and a line temperature. What was
// given ready-made stands.
func (m *Model) withSums(s *Situation) *Situation {
	var sums []Item
	for _, id := range m.sums {
		if _, given := latest(s.Evidence, string(id)); given {
			continue
		}
		if it, ok := m.sum(s, id); ok {
			sums = append(sums, it)
		}
	}
	if len(sums) == 0 {
		return s
	}
	out := *s
	out.Evidence = slices.Concat(s.Evidence, sums)
	return &out
}

// sumsOf lists the readings that can be made of others, by id.
func sumsOf(base *knowledge.Base) []knowledge.ReadingID {
	var out []knowledge.ReadingID
	for _, id := range slices.Sorted(maps.Keys(base.Measurements)) {
		if base.Measurements[id].From != nil {
			out = append(out, id)
		}
	}
	return out
}

func (m *Model) sum(s *Situation, id knowledge.ReadingID) (Item, bool) {
	from := m.base.Measurements[id].From
	a, okA := latest(s.Evidence, from.Of[0])
	b, okB := latest(s.Evidence, from.Of[1])
	if !okA || !okB || a.State == knowledge.Standing || b.State == knowledge.Standing {
		return Item{}, false
	}
	v, ok := m.here.Sum(from.By, a.Value, b.Value)
	if !ok || math.IsNaN(v) {
		return Item{}, false
	}
	return Item{Reading: id, Value: v, State: knowledge.Calling, Approximate: a.Approximate || b.Approximate, Low: v, High: v}, true
}

// latest finds the last evidence on a reading.
func latest(evidence []Item, id string) (Item, bool) {
	for i := len(evidence) - 1; i >= 0; i-- {
		if string(evidence[i].Reading) == id {
			return evidence[i], true
		}
	}
	return Item{}, false
}
