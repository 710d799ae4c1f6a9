package bot

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"time"

	"proveout/knowledge"
)

// Learned is what a shop's own closed jobs do to the prior of one fault.
type Learned struct {
	Fault     string
	Published float64 // the share of calls it is the cause of, as published
	Closed    int     // the shop's own jobs it was proven to be the cause of
	Now       float64 // the share with those counted in
}

// Learn counts the causes proven on the shop's own jobs over the published priors, as
// Dirichlet counts: the published ones count for so many jobs, and none is moved by
// more than the cap. It gives knowledge with the priors moved, its version naming
// them, and every fault the shop has met, the commonest first. base is not changed.
// closings are the events jobs were closed by, in the order of their times.
func Learn(base *knowledge.Base, l Learning, closings []Event) (*knowledge.Base, []Learned) {
	l = Config{Learning: l}.withDefaults().Learning
	counts, jobs := causes(base, l, closings)
	total := 0.0
	for _, id := range sortedKeys(base.Faults) {
		total += base.Faults[id].Weight
	}
	if jobs == 0 || total == 0 {
		return base, nil
	}
	b := *base
	b.Faults = maps.Clone(base.Faults)
	var met []Learned
	sum := sha256.New()
	for _, id := range sortedKeys(base.Faults) {
		f := *base.Faults[id]
		published := f.Weight / total
		if published == 0 {
			continue
		}
		now := (l.Weight*published + float64(counts[id])) / (l.Weight + float64(jobs))
		now = published * min(max(now/published, 1/l.Cap), l.Cap)
		if f.Weight = now * total; counts[id] > 0 {
			met = append(met, Learned{id, published, counts[id], now})
		}
		b.Faults[id] = &f
		fmt.Fprintf(sum, "%s %g\n", id, f.Weight)
	}
	b.Version += "+" + hex.EncodeToString(sum.Sum(nil)[:3])
	slices.SortStableFunc(met, func(a, b Learned) int { return b.Closed - a.Closed })
	if !l.On {
		return base, met
	}
	return &b, met
}

// causes counts the proven causes, of each job the last one only: what it was closed
// with before it came back was not the cause.
func causes(base *knowledge.Base, l Learning, closings []Event) (counts map[string]int, jobs int) {
	last := map[string]string{}
	since, _ := time.Parse(time.DateOnly, l.Since) // checked when it was read
	for i := range closings {
		e := &closings[i]
		if e.Kind != EventClosed || e.At.Before(since) {
			continue
		}
		if last[e.Stream] = ""; e.Verdict == ClosedProven && base.Faults[e.Fault] != nil {
			last[e.Stream] = e.Fault
		}
	}
	counts = map[string]int{}
	for _, fault := range last {
		if fault != "" {
			counts[fault]++
			jobs++
		}
	}
	return counts, jobs
}
