// Package decide chooses the next test by what it is worth in minutes.
//
// A Problem is a set of groups (suspects) with probabilities, and tests that sort
// the groups by the answer each would give. Next is the policy the engine
// follows: while many groups stand, the largest gain of information per minute,
// which needs no search; when fewer do, the best of the foremost few by playing
// each out; and once few stand, the start of the policy of least expected
// minutes, exactly, by dynamic programming over the sets of groups still
// standing. Best is that optimum for a whole problem and Follow what Next
// costs in the end, so that one can be held against the other.
//
// Sources: Heckerman, Breese, Rommelse, "Decision-theoretic troubleshooting",
// Communications of the ACM 38(3), 1995; the dynamic programme over sets of
// candidates is that of test sequencing, Pattipati and Alexandridis, IEEE Trans.
// Systems, Man and Cybernetics 20(4), 1990 (both from memory).
package decide

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

const (
	// MostGroups is the largest problem Best and Follow take.
	MostGroups = 16
	// exactGroups and exactTests bound the exact search Next makes: as many groups
	// as may stand, and as many tests of the highest rates as go into it.
	exactGroups = 9
	exactTests  = 14
	// Above that, and up to MostGroups, the playedOut tests of the highest rates are
	// played out over playedTests, exactly from playedExactly groups down.
	playedOut     = 8
	playedTests   = 24
	playedExactly = 5
	// mostAnswers is how many answers of a test are told apart.
	mostAnswers = 16
)

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
	// Cost is the minutes of a test taken in a circumstance; above zero.
	Cost  func(from uint8, test int) float64
	Start uint8
	// Gain is the information a test gives about all groups, nats; nil where
	// answers are as certain as Answer says.
	Gain func(test int) float64
}

// Set is a set of groups, one bit each.
type Set uint64

// All is the set of all groups. More than 64 groups panic.
func (p *Problem) All() Set {
	if len(p.P) > 64 {
		panic("decide: too many groups for a set")
	}
	return Set(1)<<len(p.P) - 1
}

// Next is the test to take with a set of groups standing, or -1 when no test
// splits it.
func (p *Problem) Next(standing Set, from uint8) int {
	rated := p.rated(standing, from)
	if len(rated) == 0 {
		return -1
	}
	s := newSearch(p)
	switch n := size(standing); {
	case n <= exactGroups:
		s.tests = rated[:min(len(rated), exactTests)]
		if v := s.solve(node{standing, from}); v.test >= 0 {
			return v.test
		}
	case n <= MostGroups:
		s.tests = rated[:min(len(rated), playedTests)]
		return s.playOut(node{standing, from})
	}
	return rated[0]
}

func size(standing Set) int { return bits.OnesCount64(uint64(standing)) }

// rated lists the tests that tell something by falling gain per minute.
func (p *Problem) rated(standing Set, from uint8) []int {
	rate := make([]float64, len(p.Tests))
	var out []int
	for t := range p.Tests {
		gain := p.sorts(standing, t)
		if p.Gain != nil && standing == p.All() {
			gain = p.Gain(t)
		}
		if gain > 1e-12 {
			rate[t] = gain / p.Cost(from, t)
			out = append(out, t)
		}
	}
	slices.SortStableFunc(out, func(x, y int) int { return cmp.Compare(rate[y], rate[x]) })
	return out
}

// sorts is the information in a test's answer about a set, nats.
func (p *Problem) sorts(standing Set, test int) float64 {
	var sum [256]float64
	total := 0.0
	for g, a := range p.Tests[test].Answer {
		if standing>>g&1 == 1 {
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
	return h
}

// Best is the test to take first on the policy of least expected minutes until
// one group stands or no test tells the rest apart, and those minutes. test is
// -1 when no test splits the groups. More than MostGroups groups panic.
func (p *Problem) Best() (test int, minutes float64) {
	p.mustBeSmall()
	s := newSearch(p)
	for t := range p.Tests {
		s.tests = append(s.tests, t)
	}
	v := s.solve(node{p.All(), p.Start})
	return v.test, v.minutes / s.weight(p.All())
}

// Follow is the expected minutes of taking what Next says until one group stands
// or no test tells the rest apart. More than MostGroups groups panic.
func (p *Problem) Follow() float64 {
	p.mustBeSmall()
	s := newSearch(p)
	return s.follow(node{p.All(), p.Start}) / s.weight(p.All())
}

func (p *Problem) mustBeSmall() {
	if len(p.P) > MostGroups {
		panic("decide: too many groups for an exact search")
	}
}
