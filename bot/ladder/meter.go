package ladder

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
)

// The meter's size and the step its leads are laid in, CSS pixels.
const (
	meterHigh = 52.0
	leadStep  = 6.0
	jawLong   = 10.0
	jawHigh   = 9.0
)

// connect puts the meter where there is room near the points it touches, and lays its
// leads to them around every symbol and label. Where no way is found the points bear
// their words all the same.
func (d *draft) connect(s *sheet) {
	meter := d.marking.Meter
	var to []spot
	dialled := &dial{}
	if len(meter.Clamp) > 0 {
		dialled.jaws = s.jaws(meter.Clamp)
		for _, j := range dialled.jaws {
			to = append(to, j.middle())
		}
	} else {
		for _, node := range []string{meter.Red, meter.Black} {
			if a, ok := d.anchors[node]; ok {
				to = append(to, a.p.at(a.at))
			}
		}
	}
	if len(to) == 0 || len(meter.Clamp) == 0 && len(to) < 2 {
		return // not of this unit
	}
	words := d.m.width(meter.Name, classMeter)
	dialled.box = s.room(words+28, meterHigh, to)
	b := dialled.box
	s.labels = append(s.labels, label{class: classMeter, text: meter.Name, box: area{b.x0 + 14, b.y0 + 8, b.x0 + 14 + words, b.y0 + 8 + d.m.line(classMeter)}, align: centred})
	s.meter = dialled
	field := s.field(b)
	for i, at := range to {
		socket := spot{b.x0 + b.width()*float64(2*i+1)/float64(2*len(to)), b.y1 - 12}
		dialled.sockets = append(dialled.sockets, socket)
		if path := field.way(spot{socket.x, b.y1}, at); path != nil {
			s.leads = append(s.leads, lead{red: i == 0 && len(meter.Clamp) == 0, path: append([]spot{socket}, path...)})
			field.taken(path)
		}
	}
}

// jaws are around the wire at the near end of components.
func (s *sheet) jaws(of []string) []area {
	var out []area
	for i := range s.symbols {
		f := &s.symbols[i]
		if !slices.Contains(of, f.part.id) || f.winding == secondary {
			continue
		}
		at := f.ends[0]
		if f.stands {
			out = append(out, area{at.x - jawHigh, at.y - jawLong - 1, at.x + jawHigh, at.y - 1})
		} else {
			out = append(out, area{at.x - jawLong - 1, at.y - jawHigh, at.x - 1, at.y + jawHigh})
		}
	}
	return out
}

// room finds the free place nearest to some spots; where there is none the sheet grows.
func (s *sheet) room(w, h float64, to []spot) area {
	best, least := area{}, math.Inf(1)
	for y := leadStep; y+h+leadStep < s.h; y += leadStep {
		for x := leadStep; x+w+leadStep < s.w; x += leadStep {
			a := area{x, y, x + w, y + h}
			far := 0.0
			for _, t := range to {
				far += math.Hypot(t.x-x-w/2, t.y-y-h)
			}
			if far < least && s.free(a.grown(2*leadStep)) {
				best, least = a, far
			}
		}
	}
	if math.IsInf(least, 1) {
		best = area{s.w, to[0].y, s.w + w, to[0].y + h}
		s.w += w + 2*leadStep
		s.h = max(s.h, best.y1+4*leadStep)
	}
	return best
}

// free says whether nothing lies in an area.
func (s *sheet) free(a area) bool {
	return !slices.ContainsFunc(s.wires, func(w strand) bool { return w.area().grown(1).overlaps(a) }) &&
		!slices.ContainsFunc(s.labels, func(l label) bool { return l.box.overlaps(a) }) &&
		!slices.ContainsFunc(s.frames, func(f frame) bool { return f.part != "" && f.box.overlaps(a) }) &&
		!slices.ContainsFunc(s.symbols, func(f figure) bool { return f.box.overlaps(a) }) &&
		!slices.ContainsFunc(s.earths, func(e earth) bool { return e.box.overlaps(a) })
}

// field is what a step costs at each crossing of a lattice; 0 is closed.
type field struct {
	w, h int
	cost []float64
}

// field closes what symbols and words lie on, and makes wires dear to go along.
func (s *sheet) field(meter area) *field {
	f := &field{w: int(s.w/leadStep) + 1, h: int(s.h/leadStep) + 1}
	f.cost = make([]float64, f.w*f.h)
	for i := range f.cost {
		f.cost[i] = 1
	}
	for _, w := range s.wires {
		f.over(w.area().grown(leadStep-1), func(c float64) float64 { return max(c, 5) })
	}
	shut := func(a area) { f.over(a.grown(3), func(float64) float64 { return 0 }) }
	shut(meter.grown(-3.5))
	for _, l := range s.labels {
		shut(l.box)
	}
	for i := range s.symbols {
		shut(s.symbols[i].box)
	}
	for _, e := range s.earths {
		shut(e.box)
	}
	return f
}

func (f *field) over(a area, price func(float64) float64) {
	for y := max(0, int(math.Ceil(a.y0/leadStep))); y < f.h && float64(y)*leadStep <= a.y1; y++ {
		for x := max(0, int(math.Ceil(a.x0/leadStep))); x < f.w && float64(x)*leadStep <= a.x1; x++ {
			f.cost[y*f.w+x] = price(f.cost[y*f.w+x])
		}
	}
}

// taken makes a lead's way dear to another.
func (f *field) taken(path []spot) {
	for i := 1; i < len(path); i++ {
		f.over(strand{a: path[i-1], b: path[i]}.area().grown(leadStep), func(c float64) float64 { return c * 4 })
	}
}

// step is a lattice crossing come to in a direction.
type step struct{ at, way int }

// reached is a step on the edge of what is known, with what it is worth going on from.
type reached struct {
	step
	worth float64
}

type edge []reached

func (e edge) Len() int      { return len(e) }
func (e edge) Swap(i, j int) { e[i], e[j] = e[j], e[i] }
func (e edge) Less(i, j int) bool {
	return cmp.Or(cmp.Compare(e[i].worth, e[j].worth), cmp.Compare(e[i].at, e[j].at), cmp.Compare(e[i].way, e[j].way)) < 0
}

// Push adds a step, for container/heap.
func (e *edge) Push(x any) { *e = append(*e, x.(reached)) }

// Pop takes the last step, for container/heap.
func (e *edge) Pop() any {
	last := len(*e) - 1
	x := (*e)[last]
	*e = (*e)[:last]
	return x
}

// way is the cheapest path between two spots along the lattice (A*), turns being dear;
// nil when there is none.
func (f *field) way(from, to spot) []spot {
	const down, turn = 2, 3.0
	start, goal := f.near(from), f.near(to)
	moves := []int{1, -1, down: f.w, -f.w}
	spent := map[step]float64{{start, down}: 0}
	came := map[step]step{}
	open := &edge{{step: step{start, down}}}
	for open.Len() > 0 {
		s := heap.Pop(open).(reached).step
		if s.at == goal {
			return f.path(came, s, from, to)
		}
		for way, move := range moves {
			next := step{s.at + move, way}
			if next.at < 0 || next.at >= len(f.cost) || way < down && next.at/f.w != s.at/f.w {
				continue
			}
			price := f.cost[next.at]
			if next.at == goal {
				price = 1
			}
			if price == 0 {
				continue
			}
			if way != s.way {
				price += turn
			}
			if old, met := spent[next]; !met || spent[s]+price < old {
				spent[next], came[next] = spent[s]+price, s
				left := math.Abs(float64(next.at%f.w-goal%f.w)) + math.Abs(float64(next.at/f.w-goal/f.w))
				heap.Push(open, reached{next, spent[next] + left})
			}
		}
	}
	return nil
}

func (f *field) near(s spot) int {
	return int(math.Round(s.y/leadStep))*f.w + int(math.Round(s.x/leadStep))
}

// path follows the steps back, keeping the corners.
func (f *field) path(came map[step]step, last step, from, to spot) []spot {
	at := func(s step) spot { return spot{float64(s.at%f.w) * leadStep, float64(s.at/f.w) * leadStep} }
	out := []spot{to, at(last)}
	for s := last; ; {
		before, ok := came[s]
		if !ok {
			out = append(out, at(s), from)
			break
		}
		if before.way != s.way {
			out = append(out, at(before))
		}
		s = before
	}
	slices.Reverse(out)
	return slices.Compact(out)
}
