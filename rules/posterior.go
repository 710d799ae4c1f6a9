package rules

import (
	"cmp"
	"math"
	"slices"
)

// weighed is one piece of evidence against the table: the log-likelihood of each
// hypothesis.
type weighed struct {
	item int
	test *test
	log  []float64 // by forecast
	slip []float64 // by forecast: the probability that it was a slip
	off  bool      // no sound machine shows it
}

// belief is the posterior of a situation.
type belief struct {
	m        *Model
	given    int // pieces of evidence that were given; those after were made of them
	evidence []weighed
	sound    int       // the hypothesis that nothing is wrong, -1 where there is none
	p        []float64 // by hypothesis
	fault    []float64 // by fault, summed over hypotheses with it
}

// testOf finds the table's test for a piece of evidence; a state that is not told
// or cannot be is the one the reading is usually taken in.
func (m *Model) testOf(it *Item) *test {
	what := string(it.Reading)
	if what == "" {
		what = it.Subject
	}
	if t, ok := m.byKey[key(what, it.State)]; ok && it.State != "" {
		return t
	}
	usual := ""
	if it.Reading != "" {
		if k := m.base.Measurements[it.Reading]; k != nil && len(k.States) > 0 {
			usual = k.States[0]
		}
		if it.Reading.Quantity() == "pressure" {
			usual = "calling" // of which a stopped compressor's standing pressure is a case
		}
	} else if o := m.base.Observations[it.Subject]; o != nil {
		usual = o.In
	}
	return m.byKey[key(what, usual)]
}

// weigh gives the log-likelihoods of a piece of evidence. A repeated reading slips
// only if every repeat did.
func (m *Model) weigh(i int, it *Item, t *test, repeated int) weighed {
	slip := m.tune.slip
	if t.live(it) {
		slip *= m.tune.falsePresence
	}
	slip = math.Pow(slip, float64(1+repeated))
	w := weighed{item: i, test: t, log: make([]float64, len(t.forecasts)), slip: make([]float64, len(t.forecasts))}
	if it.Subject != "" {
		k := slices.Index(t.seen, it.Seen)
		for f, fc := range t.forecasts {
			stray := slip / float64(len(t.seen))
			like := (1-slip)*fc.chance[k] + stray
			w.log[f], w.slip[f] = math.Log(like), stray/like
		}
		return w
	}
	x := t.scale.at(it.Value)
	extra := 0.0
	if it.Approximate {
		extra = m.tune.roundedPercent / 100 * math.Abs(x)
		if t.scale.spread.Log {
			extra = m.tune.roundedPercent / 100
		}
	}
	if span := t.scale.at(it.High) - t.scale.at(it.Low); span > 0 && !math.IsInf(span, 1) {
		extra = max(extra, m.tune.rangeShare*span)
	}
	d := make([]float64, len(t.forecasts))
	mean := 0.0
	for f, fc := range t.forecasts {
		d[f] = density(fc.lobes, x, extra)
		mean += d[f] / float64(len(t.forecasts))
	}
	const floor = 1e-6 // a value nobody predicts tells nothing
	for f := range d {
		stray := slip*mean + floor
		like := (1-slip)*d[f] + stray
		w.log[f], w.slip[f] = math.Log(like), stray/like
	}
	return w
}

// live says whether a reading found voltage or current. A lead that misses its
// point shows nothing; one that shows a live figure has rarely missed.
func (t *test) live(it *Item) bool {
	q := it.Reading.Quantity()
	return (q == "voltage" || q == "current") && len(t.places) > 0 && it.Value > t.places[len(t.places)-1]/3
}

// believe weighs all evidence of a situation.
func (m *Model) believe(s *Situation) *belief {
	b := &belief{m: m, sound: m.soundHypothesis()}
	tests := make([]*test, len(s.Evidence))
	for i := range tests {
		tests[i] = m.testOf(&s.Evidence[i])
	}
	for i, t := range tests {
		if t != nil && !s.isAside(i) && t.readable(&s.Evidence[i]) && !m.corrected(s, tests, i) {
			w := m.weigh(i, &s.Evidence[i], t, s.Rechecked[t.key])
			w.off = b.off(&w, &s.Evidence[i])
			b.evidence = append(b.evidence, w)
		}
	}
	b.p = b.without(nil, -1, m.prior(s))
	b.sum()
	return b
}

// readable says whether an item says anything that can be weighed: a state the
// subject has, or a number. Only a resistance can be infinite.
func (t *test) readable(it *Item) bool {
	if t.subject != "" {
		return slices.Contains(t.seen, it.Seen)
	}
	x := t.scale.at(it.Value)
	return !math.IsNaN(x) && !math.IsInf(x, 0)
}

// unreadable says whether an item proves nothing whatever it is of: a number that
// is none.
func (m *Model) unreadable(it *Item) bool {
	if t := m.testOf(it); t != nil {
		return !t.readable(it)
	}
	return it.Reading != "" && (math.IsNaN(it.Value) || math.IsInf(it.Value, 0))
}

// corrected says whether a later item of the same point in the same state stands
// in place of this one. A sighting that can be had along with another corrects
// nothing.
func (m *Model) corrected(s *Situation, tests []*test, i int) bool {
	beside := func(it *Item) bool {
		o := m.base.Observations[it.Subject]
		return o != nil && slices.Contains(o.Beside, it.Seen)
	}
	for j := i + 1; j < len(tests); j++ {
		a, b := &s.Evidence[i], &s.Evidence[j]
		if tests[j] == tests[i] && tests[j].readable(b) && (a.Seen == b.Seen || !beside(a) && !beside(b)) {
			return true
		}
	}
	return false
}

// prior is the log prior after repairs and rulings: a repaired fault is unlikely
// to stand, an overruled one is set aside, a ruled one is the senior's word.
func (m *Model) prior(s *Situation) []float64 {
	out := slices.Clone(m.logPrior)
	shift := func(fault string, by float64, others bool) {
		f, ok := m.place[fault]
		if !ok {
			return
		}
		for h := range out {
			if slices.Contains(m.hyps[h].faults, f) != others {
				out[h] += by
			}
		}
	}
	for _, f := range s.Repaired {
		shift(f, math.Log(0.02), false)
	}
	for _, f := range s.Overruled {
		shift(f, math.Log(1e-6), false)
	}
	if s.Ruled != "" {
		shift(s.Ruled, math.Log(1e-4), true)
	}
	return out
}

// without is the posterior with one piece of evidence (its place in b.evidence)
// left out; -1 leaves none out. It is written over what into holds, or else anew.
func (b *belief) without(into []float64, skip int, logPrior []float64) []float64 {
	l := append(into[:0], logPrior...)
	for i := range b.evidence {
		if i == skip {
			continue
		}
		w := &b.evidence[i]
		for h, f := range w.test.of {
			l[h] += w.log[f]
		}
		if w.off {
			l[b.sound] += unsound
		}
	}
	top := slices.Max(l)
	total := 0.0
	for h := range l {
		l[h] = math.Exp(l[h] - top)
		total += l[h]
	}
	for h := range l {
		l[h] /= total
	}
	return l
}

func (b *belief) sum() {
	b.fault = b.m.sumFaults(b.p)
}

func (m *Model) sumFaults(p []float64) []float64 {
	out := make([]float64, len(m.faults))
	for h, v := range p {
		for _, f := range m.hyps[h].faults {
			out[f] += v
		}
	}
	return out
}

// withAlike is the probability of a fault or of a degree of another that nothing
// tells from it: what can be known of whether it is the call.
func (m *Model) withAlike(p []float64, fault int) float64 {
	sum := 0.0
	for h := range m.hyps {
		if slices.Contains(m.hyps[h].faults, fault) || slices.Contains(m.hyps[h].alike, fault) {
			sum += p[h]
		}
	}
	return sum
}

// order lists faults by falling probability.
func (b *belief) order() []int {
	out := make([]int, len(b.fault))
	for i := range out {
		out[i] = i
	}
	slices.SortStableFunc(out, func(x, y int) int { return cmp.Compare(b.fault[y], b.fault[x]) })
	return out
}

// entropy of the faults, bits.
func (b *belief) entropy() float64 {
	e := 0.0
	for _, p := range b.fault {
		if p > 0 {
			e -= p * math.Log2(p)
		}
	}
	return e
}

// rivalShare is how much of the weight in support goes to what is still likely
// without the piece of evidence; the rest goes to the prior, so that evidence
// against the usual causes is heard too.
const rivalShare = 0.85

// support is how much each piece of evidence speaks for each fault, [evidence]
// [fault]: the log ratio of its likelihood with the fault alone and with its
// rivals, as they would stand without that evidence.
func (b *belief) support(prior, logPrior []float64) [][]float64 {
	n := len(b.m.faults)
	out := make([][]float64, len(b.evidence))
	alone, having, with, held := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	var rivals []float64
	for i := range b.evidence {
		w := &b.evidence[i]
		like := make([]float64, len(w.log))
		for f, l := range w.log {
			like[f] = math.Exp(l)
		}
		for _, sum := range [][]float64{alone, having, with, held} {
			clear(sum)
		}
		total := 0.0
		rivals = b.without(rivals, i, logPrior)
		for h, p := range rivals {
			p = rivalShare*p + (1-rivalShare)*prior[h]
			b.m.addTo(alone, having, h, p)
			p *= like[w.test.of[h]]
			total += p
			b.m.addTo(with, held, h, p)
		}
		row := make([]float64, n)
		for f := range row {
			rest, share := max(total-held[f], 0), max(1-having[f], 1e-12)
			row[f] = math.Log((with[f]/alone[f] + 1e-300) / (rest/share + 1e-300))
		}
		out[i] = row
	}
	return out
}

// addTo adds p to the faults of a hypothesis: to having, and to alone where it is
// the only one.
func (m *Model) addTo(alone, having []float64, h int, p float64) {
	faults := m.hyps[h].faults
	for _, f := range faults {
		having[f] += p
	}
	if len(faults) == 1 {
		alone[faults[0]] += p
	}
}

// slip is the probability that a piece of evidence was a slip.
func (b *belief) slip(i int) float64 {
	w := &b.evidence[i]
	out := 0.0
	for h, f := range w.test.of {
		out += b.p[h] * w.slip[f]
	}
	return out
}
