package rules

import (
	"cmp"
	"math"
	"slices"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// lobe is one component of a predicted distribution of a reading, in the
// quantity's scale (linear, or logarithmic for resistances).
type lobe struct {
	weight, mean, sigma float64
	// stray marks a phantom voltage: it explains a value but is no answer of its
	// own.
	stray bool
}

// forecast is what one or more hypotheses predict for one test.
type forecast struct {
	lobes  []lobe    // of a reading
	chance []float64 // of an observation, by the place of the state in test.states
	// outcome[k] is the probability of the test's k-th outcome; entropy is theirs,
	// in nats.
	outcome []float64
	entropy float64
}

// scale turns values into the space lobes live in.
type scale struct {
	spread  knowledge.Spread
	quality knowledge.Quantity
}

// openLoop stands for an open circuit on the logarithmic scale: ln(ohm), and how
// far a megohm reading may lie from it.
const (
	openLoop      = 20.7 // ln(1e9 ohm)
	openLoopSigma = 3
)

// at is a value's place on the scale.
func (s scale) at(v float64) float64 {
	if !s.spread.Log {
		return v
	}
	if math.IsInf(v, 1) {
		return openLoop
	}
	return min(math.Log(math.Max(v, 0)+max(s.spread.Counts, 1e-3)), openLoop)
}

// back is the value at a place on the scale.
func (s scale) back(x float64) float64 {
	if !s.spread.Log {
		return x
	}
	if x > openLoop-openLoopSigma {
		return math.Inf(1)
	}
	return max(math.Exp(x)-s.spread.Counts, 0)
}

// sigma is the standard deviation a sound machine and a sound meter give a
// predicted value; own is the process's own spread.
func (s scale) sigma(v, own float64) float64 {
	if s.spread.Log {
		if math.IsInf(v, 1) {
			return openLoopSigma
		}
		return s.spread.Percent / 100
	}
	meter := math.Hypot(s.quality.Percent/100*v, s.quality.Counts)
	unit := math.Hypot(s.spread.Percent/100*v, s.spread.Counts)
	return math.Hypot(math.Hypot(meter, unit), own)
}

// readingLobes predicts a reading over the phases of a hypothesis in one state.
func readingLobes(phases []*machine.Phase, x *machine.Meter, k *knowledge.Measurement, s scale, widen float64) []lobe {
	var out []lobe
	for i, p := range phases {
		pr := x.Read(p)
		if math.IsNaN(pr.Value) {
			continue
		}
		factors := []float64{1}
		if math.Abs(pr.Value) > 1 {
			factors = append(factors, k.Alternatives...)
		}
		w := phaseWeight(phases, i, k.AtStart) / float64(len(factors))
		for _, f := range factors {
			v := pr.Value * f
			l := lobe{weight: w, mean: s.at(v), sigma: s.sigma(v, pr.Spread*widen)}
			if pr.Phantom > 0 && v < pr.Phantom {
				l.weight = w * 0.6
				out = add(out, lobe{weight: w * 0.4, mean: pr.Phantom / 2, sigma: pr.Phantom / 2.5, stray: true})
			}
			out = add(out, l)
		}
	}
	return out
}

// startShare is how much likelier a reading watched at the start is to be met
// before slow protection opens than after.
const startShare = 3

// phaseWeight is the probability that a phase is the one met.
func phaseWeight(phases []*machine.Phase, i int, atStart bool) float64 {
	if !atStart || len(phases) == 1 {
		return phases[i].Weight
	}
	total := 1 + (startShare-1)*phases[0].Weight
	if i == 0 {
		return startShare * phases[0].Weight / total
	}
	return phases[i].Weight / total
}

// add puts a lobe in, joined with one that says the same.
func add(ls []lobe, l lobe) []lobe {
	for i := range ls {
		if math.Abs(ls[i].mean-l.mean) < 1e-6+1e-4*math.Abs(l.mean) && ls[i].stray == l.stray {
			ls[i].weight += l.weight
			ls[i].sigma = max(ls[i].sigma, l.sigma)
			return ls
		}
	}
	return append(ls, l)
}

// density of a value under the lobes, per unit of the scale; extra is a standard
// deviation added for a rounded value.
func density(ls []lobe, x, extra float64) float64 {
	d := 0.0
	for _, l := range ls {
		s := math.Hypot(l.sigma, extra)
		z := (x - l.mean) / s
		d += l.weight * math.Exp(-z*z/2) / (s * math.Sqrt(2*math.Pi))
	}
	return d
}

// mainMean is the mean of the heaviest lobe that is not a stray.
func mainMean(ls []lobe) float64 {
	best, mean := -1.0, 0.0
	for _, l := range ls {
		if !l.stray && l.weight > best {
			best, mean = l.weight, l.mean
		}
	}
	return mean
}

// outcomes groups the predictions of a test into answers a person can tell apart:
// means closer than their spreads are one answer. It returns each answer's place
// on the scale, rising.
func outcomes(forecasts []*forecast) []float64 {
	var all []lobe
	for _, f := range forecasts {
		for _, l := range f.lobes {
			if !l.stray {
				all = append(all, l)
			}
		}
	}
	slices.SortStableFunc(all, func(a, b lobe) int { return cmp.Compare(a.mean, b.mean) })
	var places []float64
	var sum, weight, start, narrow float64
	flush := func() {
		if weight > 0 {
			places = append(places, sum/weight)
		}
	}
	for _, l := range all {
		if weight > 0 && l.mean-start <= 2.5*min(narrow, l.sigma) {
			sum, weight, narrow = sum+l.weight*l.mean, weight+l.weight, min(narrow, l.sigma)
			continue
		}
		flush()
		sum, weight, start, narrow = l.weight*l.mean, l.weight, l.mean, l.sigma
	}
	flush()
	return thin(places)
}

// thin joins the closest answers until few enough are left to reckon with.
func thin(places []float64) []float64 {
	for len(places) > maxOutcomes {
		at := 0
		for i := 1; i+1 < len(places); i++ {
			if places[i+1]-places[i] < places[at+1]-places[at] {
				at = i
			}
		}
		places[at] = (places[at] + places[at+1]) / 2
		places = slices.Delete(places, at+1, at+2)
	}
	return places
}

// below is the share of a lobe under the lower edge of the k-th answer; edges lie
// halfway between answers.
func below(places []float64, k int, l lobe) float64 {
	switch k {
	case 0:
		return 0
	case len(places):
		return 1
	}
	edge := (places[k-1] + places[k]) / 2
	return (1 + math.Erf((edge-l.mean)/(l.sigma*math.Sqrt2))) / 2
}

// nearest is the place closest to x.
func nearest(places []float64, x float64) int {
	best := 0
	for i, p := range places {
		if math.Abs(p-x) < math.Abs(places[best]-x) {
			best = i
		}
	}
	return best
}

// spreadOver gives a forecast its outcome probabilities over k answers, with a
// share of slips spread evenly.
func (f *forecast) spreadOver(places []float64, slip float64) {
	k := len(f.chance)
	if f.lobes != nil {
		k = len(places)
	}
	f.outcome = make([]float64, k)
	for i := range f.outcome {
		f.outcome[i] = slip / float64(k)
		if f.lobes == nil {
			f.outcome[i] += (1 - slip) * f.chance[i]
		}
	}
	for _, l := range f.lobes {
		if l.stray {
			l.mean, l.sigma = 0, 1e-9 // a phantom is taken for the nothing it hides
		}
		for k := range places {
			f.outcome[k] += (1 - slip) * l.weight * (below(places, k+1, l) - below(places, k, l))
		}
	}
	for _, p := range f.outcome {
		if p > 0 {
			f.entropy -= p * math.Log(p)
		}
	}
}
