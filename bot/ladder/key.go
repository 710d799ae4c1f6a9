package ladder

import "slices"

// key says at the foot of the sheet what the marks on it mean, those there are.
func (d *draft) key(s *sheet, y float64) float64 {
	used := map[class]bool{}
	for _, l := range s.labels {
		used[l.class] = true
	}
	p := &plot{d: d, m: d.m}
	var notes []note
	for _, c := range []class{classGood, classSuspect, classOpen, classValue} {
		if used[c] {
			notes = append(notes, p.note(c, d.words.say("drawing-"+string(c))))
		}
	}
	if slices.ContainsFunc(s.symbols, func(f figure) bool { return f.symbol == contact || f.symbol == contactNC }) {
		notes = append(notes, p.note(classKey, d.words.say("drawing-rest")))
	}
	wide := 0.0
	for _, pl := range d.plots {
		wide = max(wide, pl.x[pl.b.w])
	}
	x, between, high := d.m.margin, 2*d.m.margin, 0.0
	for _, n := range notes {
		high = max(high, n.h)
	}
	for _, n := range notes {
		if x > d.m.margin && x+n.w > wide {
			x, y = d.m.margin, y+high
		}
		s.labels = append(s.labels, label{class: n.class, text: n.text, box: area{x, y, x + n.w, y + n.h}})
		x += n.w + between
	}
	return y + high
}
