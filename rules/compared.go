package rules

// soundMachine is the fault that is none.
const soundMachine = "none/normal"

// compared holds each process reading against what a sound machine in the same
// state would show.
func (b *belief) compared() []Compared {
	sound, ok := b.m.place[soundMachine]
	if !ok {
		return nil
	}
	h := b.leader(sound)
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
