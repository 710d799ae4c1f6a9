package decide_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"proveout/rules/decide"
)

// circuit is a random tree of switches, one of which has failed open: a chain
// where every switch feeds the next, or a few branches, each ending in a load.
// Reading it costs what it costs on a job: volts with the machine calling, ohms
// with the power off, a walk between the units, a look at a load for next to
// nothing.
type circuit struct {
	feeds  []int // the switch each one hangs on, -1: the source
	place  []uint8
	minute []float64 // a voltage reading at each switch
	ohms   float64   // a resistance reading
	off    float64   // power off, or on again
	walk   float64
	prior  []float64
}

func randomCircuit(r *rand.Rand, faults int, tree bool) *circuit {
	c := &circuit{ohms: 1.5 + 3*r.Float64(), off: 1 + 3*r.Float64(), walk: 0.5 + 2*r.Float64()}
	places := uint8(1 + r.IntN(3))
	for i := range faults {
		on := i - 1
		if tree && i > 0 && r.Float64() < 0.4 {
			on = r.IntN(i)
		}
		c.feeds = append(c.feeds, on)
		c.place = append(c.place, uint8(i)*places/uint8(faults))
		c.minute = append(c.minute, 0.5+1.5*r.Float64())
		c.prior = append(c.prior, math.Exp(1.2*r.NormFloat64()))
	}
	return c
}

// behind says whether switch i is fed through switch by, or is it.
func (c *circuit) behind(i, by int) bool {
	for ; i >= 0; i = c.feeds[i] {
		if i == by {
			return true
		}
	}
	return false
}

func (c *circuit) leaf(i int) bool { return !slices.Contains(c.feeds, i) }

// problem has every test of the circuit. A circumstance is place and power: an
// even number live, an odd one locked out.
func (c *circuit) problem() *decide.Problem {
	p := &decide.Problem{P: c.prior}
	var takes []float64
	add := func(place uint8, dead bool, minutes float64, answer func(fault int) uint8) {
		t := decide.Test{To: place * 2}
		if dead {
			t.To++
		}
		for f := range c.feeds {
			t.Answer = append(t.Answer, answer(f))
		}
		p.Tests, takes = append(p.Tests, t), append(takes, minutes)
	}
	for i := range c.feeds {
		add(c.place[i], false, c.minute[i], func(f int) uint8 { return flag(!c.behind(i, f)) })
		add(c.place[i], false, c.minute[i]*1.2, func(f int) uint8 { return flag(f == i) })
		add(c.place[i], true, c.ohms, func(f int) uint8 { return flag(f == i) })
		if c.leaf(i) {
			add(c.place[i], false, 0.2, func(f int) uint8 { return flag(!c.behind(i, f)) })
		}
	}
	p.Cost = func(from uint8, t int) float64 {
		out, to := takes[t], p.Tests[t].To
		if from%2 != to%2 {
			out += c.off
		}
		if from/2 != to/2 {
			out += c.walk
		}
		return out
	}
	return p
}

func flag(b bool) uint8 {
	if b {
		return 1
	}
	return 0
}

func (c *circuit) String() string {
	return fmt.Sprintf("feeds %v place %v minutes %.2f ohms %.2f off %.2f walk %.2f prior %.2f", c.feeds, c.place, c.minute, c.ohms, c.off, c.walk, c.prior)
}
