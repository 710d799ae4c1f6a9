package electric

import "math"

// Windings are the three resistances of a single-phase compressor, ohm, power off and
// leads lifted: between common and start, common and run, run and start.
type Windings struct {
	CommonStart, CommonRun, RunStart float64
}

// WindingState is what three winding resistances say.
type WindingState string

// The states of windings. R–S = (C–S) + (C–R) where all is well, C–R the least.
const (
	WindingsSound WindingState = "sound"
	// SumOff: the two do not add up to the third; a winding has shorted turns, or a
	// reading is wrong.
	SumOff WindingState = "sum is off"
	// Mislabelled: they add up, but under other terminals than were named.
	Mislabelled WindingState = "terminals not as named"
	// OverloadOpen: R–S reads, both others do not. The overload in the common has opened,
	// or the common is; it must be cool before it is condemned.
	OverloadOpen WindingState = "overload or common open"
	RunOpen      WindingState = "run winding open"
	StartOpen    WindingState = "start winding open"
	// AllOpen: nothing reads; the leads or the terminals first.
	AllOpen WindingState = "all open"
	// Unlikely: two read and one does not, which three windings at one point cannot do.
	Unlikely WindingState = "cannot be"
)

// Windings says what three resistances between named terminals tell, and how far the
// sum of C–S and C–R lies from R–S, ohm (0 unless all three read).
func (c *Checks) Windings(w Windings) (state WindingState, off float64, err error) {
	for _, r := range []float64{w.CommonStart, w.CommonRun, w.RunStart} {
		if !(r >= 0) {
			return "", 0, &RangeError{"resistance", r, 0, "ohm", "measure again, power off and leads lifted; OL is infinite"}
		}
	}
	start, run, both := reads(w.CommonStart), reads(w.CommonRun), reads(w.RunStart)
	switch {
	case !start && !run && !both:
		return AllOpen, 0, nil
	case !start && !run:
		return OverloadOpen, 0, nil
	case start && !run && !both:
		return RunOpen, 0, nil
	case !start && run && !both:
		return StartOpen, 0, nil
	case !start || !run || !both:
		return Unlikely, 0, nil
	}
	off = w.CommonStart + w.CommonRun - w.RunStart
	pairs, err := c.Identify(w.CommonStart, w.CommonRun, w.RunStart)
	switch {
	case err != nil:
		return "", off, err
	case c.sums(w.CommonStart, w.CommonRun, w.RunStart):
		if w.CommonRun > w.CommonStart+c.sumFloor {
			return Mislabelled, off, nil
		}
		return WindingsSound, off, nil
	case pairs.Sums:
		return Mislabelled, off, nil
	}
	return SumOff, off, nil
}

// reads says whether a meter shows a resistance at all.
func reads(ohm float64) bool { return !math.IsInf(ohm, 1) }

// sums says whether two resistances add up to a third within leads and meter.
func (c *Checks) sums(a, b, sum float64) bool {
	return math.Abs(a+b-sum) <= max(sum*c.sumShare/100, c.sumFloor)+1e-9
}

// Pairs says which of three resistances is which.
type Pairs struct {
	// Run, Start and Both are the resistances, ohm: C–R least, C–S, and R–S largest.
	Run, Start, Both float64
	// RunAt, StartAt and BothAt are their places among the three given, from 0. The
	// terminal not in the pair of Both is common; of the pair of Run the other is run.
	RunAt, StartAt, BothAt int
	// Sums says whether Run and Start add up to Both within leads and meter; Off is by
	// how much they miss it, ohm.
	Sums bool
	Off  float64
	// Alike says that Run and Start are too near each other to tell apart.
	Alike bool
}

// Identify says which of the resistances (ohm) between three unnamed terminals is
// which: the largest lies between run and start, the least between common and run.
// All three must read.
func (c *Checks) Identify(a, b, third float64) (Pairs, error) {
	given := [3]float64{a, b, third}
	for _, r := range given {
		if !(r >= 0) || !reads(r) {
			return Pairs{}, &RangeError{"resistance", r, 0, "ohm", "all three pairs must read; an open pair is told apart by its named terminals"}
		}
	}
	least, most := 0, 0
	for i, r := range given {
		if r < given[least] {
			least = i
		}
		if r >= given[most] {
			most = i
		}
	}
	if least == most { // all three the same
		most = 2
		least = 0
	}
	middle := 3 - least - most
	p := Pairs{Run: given[least], Start: given[middle], Both: given[most], RunAt: least, StartAt: middle, BothAt: most}
	p.Off = p.Run + p.Start - p.Both
	p.Sums = c.sums(p.Run, p.Start, p.Both)
	p.Alike = p.Start-p.Run <= c.sumFloor
	return p, nil
}

// Insulation is how well a winding is held off the shell.
type Insulation string

// The bands of insulation, best first.
const (
	InsulationGood  Insulation = "good"
	InsulationWatch Insulation = "watch"
	InsulationDry   Insulation = "dry the system"
	InsulationPoor  Insulation = "suspect"
	Grounded        Insulation = "grounded"
)

// Ground says how well a winding is insulated, by its resistance to the shell (ohm,
// +Inf where the meter shows OL), leads off and no vacuum on the shell. Refrigerant
// and oil lower it.
func (c *Checks) Ground(ohm float64) (Insulation, error) {
	switch {
	case !(ohm >= 0):
		return "", &RangeError{"resistance", ohm, 0, "ohm", "measure again from a terminal to bare metal; OL is infinite"}
	case ohm > c.groundGood:
		return InsulationGood, nil
	case ohm >= c.groundWatch:
		return InsulationWatch, nil
	case ohm >= c.groundDry:
		return InsulationDry, nil
	case ohm >= c.groundFault:
		return InsulationPoor, nil
	}
	return Grounded, nil
}
