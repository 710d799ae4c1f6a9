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
		if _, given := s.latest(string(id)); given {
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
	a, okA := s.moving(from.Of[0])
	b, okB := s.moving(from.Of[1])
	if !okA || !okB {
		return Item{}, false
	}
	if _, told := s.Facts["refrigerant"]; from.By != "difference" && !told {
		return Item{}, false // a saturation temperature of a refrigerant nobody has named misleads
	}
	v, ok := m.here.Sum(from.By, a.Value, b.Value)
	if !ok || math.IsNaN(v) {
		return Item{}, false
	}
	return Item{Reading: id, Value: v, State: knowledge.Calling, Approximate: a.Approximate || b.Approximate, Low: v, High: v}, true
}

// moving finds the last evidence on a reading that is not of the standing machine.
func (s *Situation) moving(id string) (Item, bool) {
	for i, it := range slices.Backward(s.Evidence) {
		if string(it.Reading) == id && it.State != knowledge.Standing && !s.isAside(i) {
			return it, true
		}
	}
	return Item{}, false
}

// latest finds the last evidence on a reading that is not set aside.
func (s *Situation) latest(id string) (Item, bool) {
	for i, it := range slices.Backward(s.Evidence) {
		if string(it.Reading) == id && !s.isAside(i) {
			return it, true
		}
	}
	return Item{}, false
}
