package rules

import (
	"cmp"
	"math"
	"slices"
)

// proveFrom is the probability from which completing a suspect's proof is the
// best next step: its readings test the suspect as well as any.
const proveFrom = 0.6

// Diagnose weighs a situation: suspects, what is ruled out and by what, and the
// next test or the call.
func (m *Model) Diagnose(s *Situation) *Diagnosis {
	doubts := m.doubts(s)
	all := m.withTargets(m.withSums(undoubted(s, doubts)))
	given := len(s.Evidence)
	b := m.believe(all)
	b.given = given
	d := &Diagnosis{Evidence: all.Evidence, Facts: all.Facts, Doubts: doubts, Entropy: b.entropy()}
	s = all
	d.Charge = m.judgeCharge(s)
	d.Compared = b.compared()
	b.name(d, m.prior(s))
	for i := range b.evidence {
		if b.odd(i, m.prior(s)) > 0 {
			d.Odd = append(d.Odd, b.evidence[i].item)
		}
	}
	if s.Ruled != "" {
		d.Call = b.ruledCall(s)
		return d
	}
	b.decide(s, d)
	return d
}

func normalised(logp []float64) []float64 {
	out := make([]float64, len(logp))
	total := 0.0
	for i, l := range logp {
		out[i] = math.Exp(l)
		total += out[i]
	}
	for i := range out {
		out[i] /= total
	}
	return out
}

// ruledCall is a senior's word standing as the call.
func (b *belief) ruledCall(s *Situation) *Call {
	c := &Call{Fault: s.Ruled, Ruled: true}
	if f, ok := b.m.place[s.Ruled]; ok {
		c.Probability = b.fault[f]
		c.Proof = b.proofOf(s, s.Ruled).by
	}
	return c
}

// decide sets the call, or the next test, or that the engine is stuck.
func (b *belief) decide(s *Situation, d *Diagnosis) {
	order := b.order()
	for _, f := range order {
		if b.fault[f] < b.m.tune.bar/2 {
			break // more than as much again is never alike
		}
		if b.m.withAlike(b.p, f) < b.m.tune.bar {
			continue
		}
		if p := b.proofOf(s, b.m.faults[f]); p.complete {
			if d.Ask = b.recheck(s); d.Ask != nil {
				return
			}
			d.Call = &Call{Fault: b.m.faults[f], Probability: b.fault[f], Proof: p.by}
			if b.m.withAlike(b.p, f) < b.m.tune.sureBar {
				d.Call.Reread = b.confirm(s, f)
			}
			return
		}
	}
	if d.Ask = b.recheck(s); d.Ask != nil {
		return
	}
	for _, f := range order {
		if b.fault[f] < proveFrom {
			break
		}
		if d.Ask = b.prove(s, d, b.m.faults[f]); d.Ask != nil {
			return
		}
	}
	c := b.narrow(s)
	if at, rate := b.repeat(s); at >= 0 && (c == nil || rate > b.m.tune.repeatWorth*c.gain/c.minutes) {
		d.Ask = b.ask(s, b.evidence[at].test, ToConfirm)
		d.Ask.Doubts, d.Ask.For = b.evidence[at].item, b.m.faults[order[0]]
		return
	}
	if c != nil {
		d.Ask = b.ask(s, c.test, ToNarrow)
		return
	}
	// Nothing tells the rest apart: the likeliest, if it is likely enough, is for a
	// senior to confirm; else prove the likeliest that can be proven.
	if f := order[0]; b.fault[f] >= b.m.tune.unsureBar {
		if p := b.proofOf(s, b.m.faults[f]); p.complete {
			d.Call = &Call{Fault: b.m.faults[f], Probability: b.fault[f], Proof: p.by, Unsure: true}
			return
		}
	}
	for _, f := range order {
		if b.fault[f] < b.m.tune.ruledOut*5 {
			break
		}
		if d.Ask = b.prove(s, d, b.m.faults[f]); d.Ask != nil {
			return
		}
	}
	d.Stuck = true
}

// prove asks for what a fault's proof still lacks.
func (b *belief) prove(s *Situation, d *Diagnosis, fault string) *Ask {
	p := b.proofOf(s, fault)
	if d.Missing == nil {
		d.Missing = p.missing
	}
	if p.complete || p.blocked {
		return nil
	}
	if p.fact != "" && !s.CannotTake[p.fact] {
		return &Ask{Fact: p.fact, Purpose: ToProve, For: fault, Minutes: b.m.base.Facts[p.fact].Minutes}
	}
	for _, f := range p.missing {
		if t := b.m.testFor(f); t != nil && b.m.takeable(s, t) {
			a := b.ask(s, t, ToProve)
			a.For = fault
			return a
		}
	}
	return nil
}

// recheck asks again for the answer that fits the rest worst, once.
func (b *belief) recheck(s *Situation) *Ask {
	worst, at, prior := 0.0, -1, b.m.prior(s)
	for i := range b.evidence {
		t := b.evidence[i].test
		if p := b.odd(i, prior); p > worst && s.Rechecked[t.key] < 1 && !s.LetBe[t.key] && b.m.takeable(s, t) && b.evidence[i].item < b.given {
			worst, at = p, i
		}
	}
	if at < 0 {
		return nil
	}
	a := b.ask(s, b.evidence[at].test, ToRecheck)
	a.Doubts = b.evidence[at].item
	return a
}

// confirm asks once more for the one answer a call hangs on: without it the fault
// would not be likely. A wrong part costs more than reading a point twice.
func (b *belief) confirm(s *Situation, fault int) *Ask {
	if s.Reread == b.m.faults[fault] {
		return nil
	}
	least, at := b.m.tune.hangsBelow, -1
	prior := b.m.prior(s)
	var others []float64
	for i := range b.evidence {
		t := b.evidence[i].test
		if s.Rechecked[t.key] > 0 || !b.m.takeable(s, t) || b.evidence[i].item >= b.given {
			continue
		}
		others = b.without(others, i, prior)
		p := b.m.withAlike(others, fault)
		if t.live(&s.Evidence[b.evidence[i].item]) {
			p /= b.m.tune.hangsLive // a live figure is rarely a slip
		}
		if p < least {
			least, at = p, i
		}
	}
	if at < 0 {
		return nil
	}
	a := b.ask(s, b.evidence[at].test, ToConfirm)
	a.Doubts, a.For = b.evidence[at].item, b.m.faults[fault]
	return a
}

// name fills in the suspects and the ruled out.
func (b *belief) name(d *Diagnosis, logPrior []float64) {
	support := b.support(normalised(logPrior), logPrior)
	for _, f := range b.order() {
		p := b.fault[f]
		if p >= b.m.tune.ruledOut*2 && len(d.Suspects) < 8 {
			d.Suspects = append(d.Suspects, Suspect{Fault: b.m.faults[f], Probability: p, Because: b.because(f, support)})
		}
	}
	if len(b.evidence) == 0 {
		return
	}
	for f, p := range b.fault {
		if p >= b.m.tune.ruledOut {
			continue
		}
		by, least := -1, math.Log(0.2)
		for i, row := range support {
			if row[f] < least {
				by, least = b.evidence[i].item, row[f]
			}
		}
		if by >= 0 {
			d.RuledOut = append(d.RuledOut, Excluded{Fault: b.m.faults[f], By: by})
		}
	}
}

// because lists the evidence that speaks for a fault, strongest first.
func (b *belief) because(f int, support [][]float64) []int {
	var at []int
	for i, row := range support {
		if row[f] > 0.4 {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(x, y int) int { return cmp.Compare(support[y][f], support[x][f]) })
	out := make([]int, 0, 3)
	for _, i := range at[:min(3, len(at))] {
		out = append(out, b.evidence[i].item)
	}
	return out
}
