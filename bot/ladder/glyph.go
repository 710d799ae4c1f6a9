package ladder

import "math"

// stroke is one line of a symbol: a polyline, or a circle about its first point.
type stroke struct {
	path   []spot
	radius float64
}

func poly(xy ...float64) stroke {
	var s stroke
	for i := 0; i+1 < len(xy); i += 2 {
		s.path = append(s.path, spot{xy[i], xy[i+1]})
	}
	return s
}

func ring(x, y, r float64) stroke { return stroke{path: []spot{{x, y}}, radius: r} }

// curve samples a line from t = 0 to 1.
func curve(steps int, at func(t float64) (x, y float64)) stroke {
	var s stroke
	for i := range steps + 1 {
		x, y := at(float64(i) / float64(steps))
		s.path = append(s.path, spot{x, y})
	}
	return s
}

// arc is part of an ellipse, from and to in half turns, clockwise from the right.
func arc(x, y, rx, ry, from, to float64) stroke {
	return curve(10, func(t float64) (float64, float64) {
		a := math.Pi * (from + t*(to-from))
		return x + rx*math.Cos(a), y + ry*math.Sin(a)
	})
}

// Symbols are drawn lying, from -18 to 18 along the wire and within 13 across it, after
// NEMA ICS 19 for the control side and IEC 60617 where that has none (both from
// memory).
const half = 18.0

// glyph gives the strokes of a symbol about its middle.
func glyph(s symbol, open bool) []stroke {
	switch s {
	case wire:
		return []stroke{poly(-half, 0, half, 0), poly(-9, -4, 9, -4), poly(-9, 4, 9, 4), arc(-9, 0, 3, 4, 0.5, 1.5), arc(9, 0, 3, 4, -0.5, 0.5)}
	case leak:
		return []stroke{poly(-half, 0, -12, 0, -10, -5, -6, 5, -2, -5, 2, 5, 6, -5, 10, 5, 12, 0, half, 0)}
	case fuse:
		return append(ends(13), curve(16, func(t float64) (float64, float64) { return -11 + 22*t, -6 * math.Sin(2*math.Pi*t) }))
	case contact:
		return bars()
	case contactNC:
		return append(bars(), poly(-9, 10, 9, -10))
	case coil:
		return []stroke{poly(-half, 0, -12, 0), poly(12, 0, half, 0), ring(0, 0, 12)}
	case coiled, transformer:
		return humps(4, 24, -1)
	case capacitor:
		return []stroke{poly(-half, 0, -3, 0), poly(-3, -11, -3, 11), poly(3, 0, half, 0), arc(13, 0, 10, 12, 0.66, 1.34)}
	case source:
		return []stroke{poly(-half, 0, -12, 0), poly(12, 0, half, 0), ring(0, 0, 12), curve(12, func(t float64) (float64, float64) { return -7 + 14*t, -5 * math.Sin(2*math.Pi*t) })}
	case breaker:
		rise := 0.0
		if open {
			rise = 5
		}
		return append(ends(11), arc(0, -2-rise, 12, 8, 1.05, 1.95))
	default:
		if s.opens() {
			return append(append(ends(11), arm(open)), actuator(s, open)...)
		}
		return []stroke{poly(-half, 0, -13, 0), poly(13, 0, half, 0), poly(-13, -7, 13, -7, 13, 7, -13, 7, -13, -7)}
	}
}

// bars are a contact's, at rest.
func bars() []stroke {
	return []stroke{poly(-half, 0, -5, 0), poly(5, 0, half, 0), poly(-5, -10, -5, 10), poly(5, -10, 5, 10)}
}

// ends are two terminals with their wires.
func ends(x float64) []stroke {
	const r = 2.5
	return []stroke{poly(-half, 0, -x-r, 0), poly(x+r, 0, half, 0), ring(-x, 0, r), ring(x, 0, r)}
}

// arm is a switch's blade.
func arm(open bool) stroke {
	if open {
		return poly(-9, -1.5, 8, -11)
	}
	return poly(-9, -1.5, 11, -3)
}

// actuator is what moves a switch's blade, hanging from the middle of it.
func actuator(s symbol, open bool) []stroke {
	top := -2.0
	if open {
		top = -6
	}
	stem := func(to float64) stroke { return poly(0, top, 0, to) }
	switch s {
	case pressure:
		return []stroke{stem(5), arc(0, 12, 7, 7, 1, 2), poly(-7, 12, 7, 12)}
	case temperature, thermostat:
		return []stroke{stem(5), poly(0, 5, 4, 5, 4, 9, -4, 9, -4, 12.5, 4, 12.5)}
	case level:
		return []stroke{stem(5), ring(0, 9, 4)}
	case timed:
		return []stroke{stem(11), poly(-5, 12, 0, 6, 5, 12)}
	case overload:
		return []stroke{stem(5), poly(-8, 5, -4, 5, -4, 11, 4, 11, 4, 5, 8, 5)}
	case disconnect:
		return []stroke{stem(9), poly(-5, 9, 5, 9)}
	default:
		return nil
	}
}

// humps are a winding's, up or down.
func humps(n int, width, side float64) []stroke {
	r := width / float64(n) / 2
	out := []stroke{poly(-half, 0, -width/2, 0), poly(width/2, 0, half, 0)}
	for i := range n {
		x := -width/2 + r*float64(2*i+1)
		if side < 0 {
			out = append(out, arc(x, 0, r, 1.6*r, 1, 2))
		} else {
			out = append(out, arc(x, 0, r, 1.6*r, 1, 0))
		}
	}
	return out
}

// strokes are a figure's lines in their place.
func (f *figure) strokes() []stroke {
	if f.symbol == transformer && f.winding == whole {
		return f.coupled()
	}
	at := f.box.middle()
	var out []stroke
	lines := glyph(f.symbol, f.open)
	if f.absent {
		lines = []stroke{poly(-half, 0, -10, 0), poly(-4, 0, 4, 0), poly(10, 0, half, 0)}
	}
	for _, s := range lines {
		placed := stroke{radius: s.radius}
		for _, p := range s.path {
			if f.stands {
				p = spot{-p.y, p.x}
			}
			placed.path = append(placed.path, spot{at.x + p.x, at.y + p.y})
		}
		out = append(out, placed)
	}
	return out
}

// coupled is a transformer between two rows: the primary under the upper one, the core,
// the secondary over the lower one.
func (f *figure) coupled() []stroke {
	at := f.box.middle()
	var out []stroke
	put := func(lines []stroke, dy float64) {
		for _, s := range lines {
			placed := stroke{radius: s.radius}
			for _, p := range s.path {
				placed.path = append(placed.path, spot{at.x + p.x, at.y + p.y + dy})
			}
			out = append(out, placed)
		}
	}
	const off = 7.0
	up, low := f.box.y0-at.y, f.box.y1-at.y
	put([]stroke{poly(-half, up, -half, -off-5, -14, -off-5), poly(14, -off-5, half, -off-5, half, up)}, 0)
	put([]stroke{poly(-half, low, -half, off+5, -14, off+5), poly(14, off+5, half, off+5, half, low)}, 0)
	put(humps(4, 28, 1)[2:], -off-5)
	put(humps(4, 28, -1)[2:], off+5)
	put([]stroke{poly(-14, -1.8, 14, -1.8), poly(-14, 1.8, 14, 1.8)}, 0)
	return out
}
