// Package decide chooses the next test by what it is worth in minutes.
//
// A Problem is a set of groups (suspects) with probabilities, and tests that sort
// the groups by the answer each would give. Best finds the policy of least
// expected minutes exactly, by dynamic programming over the sets of groups still
// standing, and is meant for few groups; Rate is the gain of information per
// minute, which needs no search.
//
// Sources: Heckerman, Breese, Rommelse, "Decision-theoretic troubleshooting",
// Communications of the ACM 38(3), 1995; the dynamic programme over sets of
// candidates is that of test sequencing, Pattipati and Alexandridis, IEEE Trans.
// Systems, Man and Cybernetics 20(4), 1990 (both from memory).
package decide

import "math"

// MostGroups is the largest problem Best takes.
const MostGroups = 16

// Test sorts groups: Answer holds each group's likeliest answer. To is the
// circumstance (state of the machine, place) the test leaves behind.
type Test struct {
	Answer []uint8
	To     uint8
}

// Problem is a choice to be made.
type Problem struct {
	P     []float64 // probability of each group; need not sum to one
	Tests []Test
	// Cost is the minutes of a test taken in a circumstance.
	Cost  func(from uint8, test int) float64
	Start uint8
}

type node struct {
	mask uint32
	from uint8
}

type value struct {
	minutes float64 // expected, times the probability of the set
	test    int     // -1: nothing left to tell apart
}

type search struct {
	*Problem
	memo map[node]value
	mass map[uint32]float64
}

// Best is the test to take first on the policy of least expected minutes until
// one group stands or no test tells the rest apart, and those minutes. test is
// -1 when no test splits the groups. More than MostGroups groups panic.
func (p *Problem) Best() (test int, minutes float64) {
	if len(p.P) > MostGroups {
		panic("decide: too many groups for an exact search")
	}
	s := &search{Problem: p, memo: map[node]value{}, mass: map[uint32]float64{}}
	all := uint32(1)<<len(p.P) - 1
	v := s.solve(node{all, p.Start})
	return v.test, v.minutes / s.weight(all)
}

func (s *search) weight(mask uint32) float64 {
	if w, ok := s.mass[mask]; ok {
		return w
	}
	w := 0.0
	for g := range s.P {
		if mask>>g&1 == 1 {
			w += s.P[g]
		}
	}
	s.mass[mask] = w
	return w
}

func (s *search) solve(n node) value {
	if n.mask&(n.mask-1) == 0 {
		return value{0, -1}
	}
	if v, ok := s.memo[n]; ok {
		return v
	}
	best := value{math.Inf(1), -1}
	for t := range s.Tests {
		parts := s.split(n.mask, t)
		if len(parts) < 2 {
			continue
		}
		sum := s.Cost(n.from, t) * s.weight(n.mask)
		for _, part := range parts {
			if sum >= best.minutes {
				break
			}
			sum += s.solve(node{part, s.Tests[t].To}).minutes
		}
		if sum < best.minutes {
			best = value{sum, t}
		}
	}
	if best.test < 0 {
		best.minutes = 0
	}
	s.memo[n] = best
	return best
}

// split divides a set of groups by a test's answers, in order of first group.
func (s *search) split(mask uint32, t int) []uint32 {
	var answers [8]uint8
	var parts [8]uint32
	n := 0
next:
	for g, a := range s.Tests[t].Answer {
		if mask>>g&1 == 0 {
			continue
		}
		for i := range n {
			if answers[i] == a {
				parts[i] |= 1 << g
				continue next
			}
		}
		if n == len(parts) {
			parts[n-1] |= 1 << g
			continue
		}
		answers[n], parts[n] = a, 1<<g
		n++
	}
	return parts[:n]
}

// Rate is a test's gain of information per minute, nats, taken in circumstance
// from over the groups of a set.
func (p *Problem) Rate(mask uint32, from uint8, test int) float64 {
	var sum [256]float64
	total := 0.0
	for g, a := range p.Tests[test].Answer {
		if mask>>g&1 == 1 {
			sum[a] += p.P[g]
			total += p.P[g]
		}
	}
	h := 0.0
	for _, s := range sum {
		if s > 0 {
			h -= s / total * math.Log(s/total)
		}
	}
	return h / p.Cost(from, test)
}
