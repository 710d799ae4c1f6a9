package rules

import (
	"math"
	"slices"
)

// soundMachine is the fault that is none.
const soundMachine = "none/normal"

// A reading of the process this many standard deviations from what a sound machine
// shows speaks against one by unsound (log odds) besides its likelihood: where no
// fault fits it either, that is no reason to call the machine sound.
const (
	offFrom = 3.0
	unsound = -4.0
)

// soundHypothesis is the place of the hypothesis that nothing is wrong, or -1.
func (m *Model) soundHypothesis() int {
	f, ok := m.place[soundMachine]
	return slices.IndexFunc(m.hyps, func(h hypothesis) bool { return ok && len(h.faults) == 1 && h.faults[0] == f })
}

// off says whether a reading of the process is one that no sound machine shows.
func (b *belief) off(w *weighed, it *Item) bool {
	if b.sound < 0 || w.test.process == nil {
		return false
	}
	ls := w.test.forecasts[w.test.of[b.sound]].lobes
	return len(ls) > 0 && math.Abs(w.test.scale.at(it.Value)-mainMean(ls)) > offFrom*ls[0].sigma
}

// compared holds each process reading against what a sound machine in the same
// state would show.
func (b *belief) compared() []Compared {
	h := b.sound
	var out []Compared
	for i := range b.evidence {
		w := &b.evidence[i]
		if w.test.process == nil || h < 0 {
			continue
		}
		ls := w.test.forecasts[w.test.of[h]].lobes
		if len(ls) == 0 {
			continue
		}
		mean := mainMean(ls)
		out = append(out, Compared{Item: w.item, Normal: w.test.scale.back(mean), Spread: ls[0].sigma})
	}
	return out
}
