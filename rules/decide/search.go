package decide

import "math"

type node struct {
	standing Set
	from     uint8
}

type value struct {
	minutes float64 // expected, times the probability of the set
	test    int     // -1: nothing left to tell apart
}

// search is one dynamic programme over the sets of groups.
type search struct {
	*Problem
	tests []int // those looked at
	memo  map[node]value
	mass  map[Set]float64
}

func newSearch(p *Problem) *search {
	return &search{Problem: p, memo: map[node]value{}, mass: map[Set]float64{}}
}

func (s *search) weight(standing Set) float64 {
	if w, ok := s.mass[standing]; ok {
		return w
	}
	w := 0.0
	for g := range s.P {
		if standing>>g&1 == 1 {
			w += s.P[g]
		}
	}
	s.mass[standing] = w
	return w
}

func (s *search) solve(n node) value {
	if n.standing&(n.standing-1) == 0 {
		return value{0, -1}
	}
	if v, ok := s.memo[n]; ok {
		return v
	}
	best := value{math.Inf(1), -1}
	var room [mostAnswers]Set
	for _, t := range s.tests {
		parts := s.split(n.standing, t, &room)
		if len(parts) < 2 {
			continue
		}
		sum := s.Cost(n.from, t) * s.weight(n.standing)
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

// follow is the expected minutes of Next from a node, times its probability.
func (s *search) follow(n node) float64 {
	if v, ok := s.memo[n]; ok {
		return v.minutes
	}
	t, minutes := -1, 0.0
	if n.standing&(n.standing-1) != 0 {
		t = s.Next(n.standing, n.from)
	}
	if t >= 0 {
		minutes = s.Cost(n.from, t) * s.weight(n.standing)
		var room [mostAnswers]Set
		for _, part := range s.split(n.standing, t, &room) {
			minutes += s.follow(node{part, s.Tests[t].To})
		}
	}
	s.memo[n] = value{minutes, t}
	return minutes
}

// playOut compares the foremost tests, each followed by the largest gain per
// minute to the end, and takes the one of fewest expected minutes.
func (s *search) playOut(n node) int {
	best, least := s.tests[0], math.Inf(1)
	for _, t := range s.tests[:min(len(s.tests), playedOut)] {
		var room [mostAnswers]Set
		parts := s.split(n.standing, t, &room)
		if len(parts) < 2 {
			continue
		}
		sum := s.Cost(n.from, t) * s.weight(n.standing)
		for _, part := range parts {
			sum += s.greedy(node{part, s.Tests[t].To})
		}
		if sum < least {
			best, least = t, sum
		}
	}
	return best
}

// greedy is the expected minutes of the largest gain per minute from a node,
// times its probability.
func (s *search) greedy(n node) float64 {
	if size(n.standing) <= playedExactly {
		return s.solve(n).minutes
	}
	if v, ok := s.memo[n]; ok {
		return v.minutes
	}
	best, rate, minutes := -1, 0.0, 0.0
	for _, t := range s.tests {
		if r := s.sorts(n.standing, t) / s.Cost(n.from, t); r > rate {
			best, rate = t, r
		}
	}
	if best >= 0 && rate > 1e-12 {
		minutes = s.Cost(n.from, best) * s.weight(n.standing)
		var room [mostAnswers]Set
		for _, part := range s.split(n.standing, best, &room) {
			minutes += s.greedy(node{part, s.Tests[best].To})
		}
	}
	s.memo[n] = value{minutes, best}
	return minutes
}

// split divides a set of groups by a test's answers, in order of first group.
func (s *search) split(standing Set, t int, parts *[mostAnswers]Set) []Set {
	var answers [mostAnswers]uint8
	n := 0
next:
	for g, a := range s.Tests[t].Answer {
		if standing>>g&1 == 0 {
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
