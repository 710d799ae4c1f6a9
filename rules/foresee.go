package rules

import (
	"maps"
	"slices"
)

// What is played out to foresee the minutes left: the likeliest suspects until so much
// of the probability is theirs, no more than so many, each over no more questions than
// any job takes.
const (
	foreseenShare = 0.9
	foreseenMost  = 8
	foreseenSteps = 40
)

// suspected is one way the machine may be and how likely that is.
type suspected struct {
	truth Truth
	p     float64
}

// MinutesToCall is the expected minutes of measuring until a call, with the reading a
// call hangs on: the engine's own questions played out over the likeliest suspects, each
// answered as it predicts. It takes no slip and no walk for a tool into account; it is
// 0 where a call stands or nothing is left to ask.
func (m *Model) MinutesToCall(s *Situation) float64 {
	b := m.believe(m.withTargets(m.withSums(undoubted(s, m.doubts(s)))))
	var left []suspected
	share := 0.0
	for _, f := range b.order() {
		if share >= foreseenShare || len(left) == foreseenMost {
			break
		}
		h := b.leader(f)
		left = append(left, suspected{Truth{m.faults[f], m.hyps[h].variant, h}, b.fault[f]})
		share += b.fault[f]
	}
	return m.foresee(s, left, foreseenSteps)
}

// foresee plays the suspects on from a situation. Those that answer alike stay
// together.
func (m *Model) foresee(s *Situation, left []suspected, steps int) float64 {
	d := m.Diagnose(s)
	ask := d.Ask
	if d.Call != nil {
		if ask = d.Call.Reread; ask == nil {
			return 0
		}
	}
	if ask == nil || steps == 0 {
		return 0
	}
	total := 0.0
	for i := range left {
		total += left[i].p
	}
	minutes := ask.Minutes
	for len(left) > 0 {
		first, known := m.Answer(left[0].truth, ask)
		p := 0.0
		var same, rest []suspected
		for _, x := range left {
			if it, _ := m.Answer(x.truth, ask); it == first {
				same, p = append(same, x), p+x.p
			} else {
				rest = append(rest, x)
			}
		}
		next := m.answered(s, ask, first, known)
		if d.Call != nil {
			next.Reread = d.Call.Fault
		}
		minutes += p / total * m.foresee(next, same, steps-1)
		left = rest
	}
	return minutes
}

// answered is a situation after the answer to a question; an unknown one could not be
// taken. s is not changed.
func (m *Model) answered(s *Situation, ask *Ask, it Item, known bool) *Situation {
	n := *s
	switch {
	case ask.Fact != "":
		n.Facts = with(s.Facts, ask.Fact, m.base.Facts[ask.Fact].Default)
		return &n
	case !known:
		n.CannotTake = with(s.CannotTake, ask.Key(), true)
		return &n
	}
	n.Evidence = slices.Clone(s.Evidence)
	if ask.Purpose == ToRecheck || ask.Purpose == ToConfirm {
		n.Rechecked = with(s.Rechecked, ask.Key(), s.Rechecked[ask.Key()]+1)
		n.Evidence = slices.Delete(n.Evidence, ask.Doubts, ask.Doubts+1)
	}
	n.Evidence = append(n.Evidence, it)
	n.State = ask.State
	if at := m.Where(ask); at != "" {
		n.Place = at
	}
	return &n
}

// with is a map with one more entry; in is not changed.
func with[V any](in map[string]V, key string, v V) map[string]V {
	out := maps.Clone(in)
	if out == nil {
		out = map[string]V{}
	}
	out[key] = v
	return out
}
