package rules

import (
	"cmp"
	"math"
	"slices"

	"proveout/knowledge"
	"proveout/rules/decide"
)

const (
	groupCut  = 0.015 // a suspect below this is left out of the choice
	leastGain = 0.004 // nats: below it an answer changes nothing
)

// candidate is a test that could be taken now.
type candidate struct {
	test    *test
	gain    float64 // nats over the faults
	minutes float64
}

// narrow finds the test worth most, or nil.
func (b *belief) narrow(s *Situation) *candidate {
	cands := b.candidates(s)
	if len(cands) == 0 {
		return nil
	}
	p := b.problem(s, cands)
	return &cands[p.Next(p.All(), p.Start)]
}

// candidates are the tests that may be taken and would tell something.
func (b *belief) candidates(s *Situation) []candidate {
	live := b.live()
	var out []candidate
	for _, t := range b.m.tests {
		if !t.askable || !b.m.takeable(s, t) || b.taken(s, t) {
			continue
		}
		if g := b.gain(t, live); g > leastGain {
			out = append(out, candidate{t, g, b.m.minutes(s.State, s.Place, t)})
		}
	}
	return out
}

// live lists hypotheses that still matter.
func (b *belief) live() []int {
	var out []int
	for h, p := range b.p {
		if p > 1e-5 {
			out = append(out, h)
		}
	}
	return out
}

func (m *Model) takeable(s *Situation, t *test) bool {
	if t.reading != "" {
		return !s.CannotTake[string(t.reading)] && !s.CannotTake[t.key] && !s.Lacks[t.instrument]
	}
	return !s.CannotTake[t.subject] && !s.CannotTake[t.key]
}

// taken says whether a test is in evidence already.
func (b *belief) taken(s *Situation, t *test) bool {
	for i := range b.evidence {
		if b.evidence[i].test == t {
			return true
		}
		// The same point read in a state nobody named stands for both.
		it := &s.Evidence[b.evidence[i].item]
		if it.State == "" && (it.Reading != "" && it.Reading == t.reading || it.Subject != "" && it.Subject == t.subject && !slices.Contains(b.m.also(t.subject), t.state)) {
			return true
		}
	}
	return false
}

func (m *Model) also(subject string) []string {
	if o := m.base.Observations[subject]; o != nil {
		return o.Also
	}
	return nil
}

// minutes of a test from a state and place: the reading, the way, the machine,
// and what its hazard must be worth.
func (m *Model) minutes(state, place string, t *test) float64 {
	out := t.minutes + m.tune.askMinutes
	if state != "" && t.state != state {
		out += m.change[state][t.state]
	}
	if place != "" && t.where != "" && t.where != place {
		out += m.tune.moveMinutes
	}
	switch t.hazard {
	case "line":
		out += m.tune.lineMinutes
	case "pressure":
		out += m.tune.pressureMinutes
	}
	return out
}

// gain is the mutual information between a test's answer and the fault, nats.
func (b *belief) gain(t *test, live []int) float64 {
	var sum [maxOutcomes]float64
	n := min(len(t.forecasts[0].outcome), maxOutcomes)
	within := 0.0
	for i := 0; i < len(live); {
		h := live[i]
		j := i + 1
		for j < len(live) && b.m.sameGroup(h, live[j]) {
			j++
		}
		within += b.groupEntropy(t, live[i:j], sum[:n])
		i = j
	}
	return entropyOf(sum[:n]) - within
}

const maxOutcomes = 16

// groupEntropy adds a group's answers to sum and returns its share of the
// remaining entropy of the answer.
func (b *belief) groupEntropy(t *test, group []int, sum []float64) float64 {
	first := t.of[group[0]]
	same := true
	var mix [maxOutcomes]float64
	p := 0.0
	for _, h := range group {
		f := t.forecasts[t.of[h]]
		same = same && t.of[h] == first
		p += b.p[h]
		for k := range sum {
			mix[k] += b.p[h] * f.outcome[k]
		}
	}
	for k := range sum {
		sum[k] += mix[k]
	}
	if same {
		return p * t.forecasts[first].entropy
	}
	return entropyOf(mix[:len(sum)])
}

// entropyOf is −Σ q ln(q/Q): of unnormalised shares, times their sum.
func entropyOf(q []float64) float64 {
	total, e := 0.0, 0.0
	for _, v := range q {
		total += v
	}
	for _, v := range q {
		if v > 0 {
			e -= v * math.Log(v/total)
		}
	}
	return e
}

// sameGroup says whether two hypotheses are degrees of one fault.
func (m *Model) sameGroup(a, b int) bool {
	return len(m.hyps[a].faults) == 1 && len(m.hyps[b].faults) == 1 && m.hyps[a].faults[0] == m.hyps[b].faults[0]
}

// problem puts the choice between candidates as one of sorting the suspects left.
func (b *belief) problem(s *Situation, cands []candidate) *decide.Problem {
	var hyps []int // a representative each
	var mass []float64
	for _, f := range b.order() {
		if b.fault[f] < groupCut || len(hyps) == 64 {
			break
		}
		hyps, mass = append(hyps, b.leader(f)), append(mass, b.fault[f])
	}
	tests := make([]*test, len(cands))
	for i := range cands {
		tests[i] = cands[i].test
	}
	p := b.m.problem(hyps, mass, tests, circumstance{s.State, s.Place})
	p.Gain = func(t int) float64 { return cands[t].gain }
	return p
}

// problem makes the hypotheses groups that each test sorts by their likeliest
// answers.
func (m *Model) problem(hyps []int, mass []float64, tests []*test, start circumstance) *decide.Problem {
	var ctx circumstances
	p := &decide.Problem{P: mass, Start: ctx.number(start)}
	for _, t := range tests {
		d := decide.Test{To: ctx.number(circumstance{t.state, t.where})}
		for _, h := range hyps {
			d.Answer = append(d.Answer, likeliest(t.forecasts[t.of[h]].outcome))
		}
		p.Tests = append(p.Tests, d)
	}
	p.Cost = func(from uint8, test int) float64 {
		return m.minutes(ctx.seen[from].state, ctx.seen[from].place, tests[test])
	}
	return p
}

// leader is a fault's likeliest hypothesis.
func (b *belief) leader(fault int) int {
	best := -1
	for h, p := range b.p {
		if slices.Contains(b.m.hyps[h].faults, fault) && (best < 0 || p > b.p[best]) {
			best = h
		}
	}
	return best
}

func likeliest(p []float64) uint8 {
	best := 0
	for k := range p {
		if p[k] > p[best] {
			best = k
		}
	}
	return uint8(best)
}

// circumstance is where the machine and the technician are.
type circumstance struct{ state, place string }

// circumstances numbers them.
type circumstances struct{ seen []circumstance }

func (c *circumstances) number(at circumstance) uint8 {
	if i := slices.Index(c.seen, at); i >= 0 {
		return uint8(i)
	}
	c.seen = append(c.seen, at)
	return uint8(len(c.seen) - 1)
}

// ask turns a test into a question with the answers to expect.
func (b *belief) ask(s *Situation, t *test, why Purpose) *Ask {
	a := &Ask{Reading: t.reading, Observation: t.subject, State: t.state, Purpose: why, Minutes: b.m.minutes(s.State, s.Place, t)}
	for k := range t.forecasts[0].outcome {
		o := Outcome{}
		if t.reading != "" {
			o.Value = t.scale.back(t.places[k])
		} else {
			o.Seen = t.seen[k]
		}
		after := make([]float64, len(b.p))
		for h, p := range b.p {
			after[h] = p * t.forecasts[t.of[h]].outcome[k]
			o.Probability += after[h]
		}
		if o.Probability < 0.01 {
			continue
		}
		faults := b.m.sumFaults(after)
		for f, p := range faults {
			if p /= o.Probability; p > 0.05 {
				o.Leaves = append(o.Leaves, Suspect{Fault: b.m.faults[f], Probability: p})
			}
		}
		slices.SortStableFunc(o.Leaves, func(x, y Suspect) int { return cmp.Compare(y.Probability, x.Probability) })
		a.Outcomes = append(a.Outcomes, o)
	}
	slices.SortStableFunc(a.Outcomes, func(x, y Outcome) int { return cmp.Compare(y.Probability, x.Probability) })
	return a
}

// Reachable reports whether the unit has a test for a reading or observation.
func (m *Model) Reachable(what string) bool {
	for _, s := range knowledge.States {
		if m.byKey[key(what, s)] != nil {
			return true
		}
	}
	return false
}
