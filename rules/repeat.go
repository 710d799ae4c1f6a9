package rules

// repeat finds the piece of evidence most worth asking for once more, and what
// that is worth a minute: the information about the fault in whether it was a
// slip. at is -1 when none is. A second answer that agrees settles it, so each is
// repeated once.
func (b *belief) repeat(s *Situation) (at int, rate float64) {
	at = -1
	for i := range b.evidence {
		t := b.evidence[i].test
		if s.Rechecked[t.key] > 0 || !b.m.takeable(s, t) || b.evidence[i].item >= b.given {
			continue
		}
		if g := b.slipGain(i); g > leastGain {
			if r := g / b.m.minutes(s.State, s.Place, t); r > rate {
				at, rate = i, r
			}
		}
	}
	return at, rate
}

// odd is the probability that a piece of evidence was a slip, where it is likely and
// it is the other evidence that makes it so; else zero. An answer that is only rare
// by itself contradicts nothing.
func (b *belief) odd(i int, logPrior []float64) float64 {
	slip := b.slip(i)
	if slip < b.m.tune.recheckFrom {
		return 0
	}
	alone := &belief{m: b.m, evidence: b.evidence[i : i+1]}
	alone.p = alone.without(nil, -1, logPrior)
	if slip < alone.slip(0)+b.m.tune.recheckRise {
		return 0
	}
	return slip
}

// slipGain is the mutual information between a piece of evidence having been a
// slip and the fault, nats.
func (b *belief) slipGain(i int) float64 {
	w := &b.evidence[i]
	n := len(b.m.faults)
	slipped, fine, both := make([]float64, n), make([]float64, n), make([]float64, n)
	for h, f := range w.test.of {
		fault := b.m.hyps[h].faults[0] // a pair counts as its likelier half
		slipped[fault] += b.p[h] * w.slip[f]
		fine[fault] += b.p[h] * (1 - w.slip[f])
		both[fault] += b.p[h]
	}
	return entropyOf(both) - entropyOf(slipped) - entropyOf(fine)
}
