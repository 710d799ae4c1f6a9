package decide_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/rules/decide"
)

// The bars of the policy against the optimum, from the design.
const (
	meanBar  = 1.05
	worstBar = 1.25
)

func TestThePolicyIsNearTheOptimumOnRandomCircuits(t *testing.T) {
	t.Parallel()
	const circuits = 20 // of each size and shape
	var all []float64
	for faults := 4; faults <= 13; faults++ {
		var size []float64
		for i := range 2 * circuits {
			r := rand.New(rand.NewPCG(uint64(faults), uint64(i)))
			c := randomCircuit(r, faults, i%2 == 1)
			p := c.problem()
			_, best := p.Best()
			ratio := p.Follow() / best
			require.GreaterOrEqual(t, ratio, 1-1e-9, "nothing beats the optimum: %v", c)
			require.LessOrEqual(t, ratio, worstBar, "%v", c)
			size = append(size, ratio)
		}
		mean, worst := figures(size)
		t.Logf("%2d faults: mean %.4f worst %.4f of the optimum", faults, mean, worst)
		all = append(all, size...)
	}
	mean, worst := figures(all)
	t.Logf("%d circuits: mean %.4f worst %.4f", len(all), mean, worst)
	require.LessOrEqual(t, mean, meanBar)
}

func figures(ratios []float64) (mean, worst float64) {
	for _, r := range ratios {
		mean += r / float64(len(ratios))
		worst = max(worst, r)
	}
	return mean, worst
}

// tiny draws a problem small enough to try every policy on: any answers, any
// costs.
func tiny(t *rapid.T) *decide.Problem {
	groups := rapid.IntRange(1, 5).Draw(t, "groups")
	p := &decide.Problem{}
	for range groups {
		p.P = append(p.P, rapid.Float64Range(0.01, 1).Draw(t, "probability"))
	}
	tests := rapid.IntRange(0, 5).Draw(t, "tests")
	var minutes [][]float64
	for range tests {
		d := decide.Test{To: rapid.Uint8Range(0, 1).Draw(t, "to")}
		for range groups {
			d.Answer = append(d.Answer, rapid.Uint8Range(0, 2).Draw(t, "answer"))
		}
		p.Tests = append(p.Tests, d)
		minutes = append(minutes, []float64{rapid.Float64Range(0.1, 5).Draw(t, "minutes"), rapid.Float64Range(0.1, 5).Draw(t, "minutes")})
	}
	p.Cost = func(from uint8, test int) float64 { return minutes[test][from] }
	return p
}

// every is the least expected minutes over every policy, by trying them all: no
// memory, no bound.
func every(p *decide.Problem, groups []int, from uint8) float64 {
	best, total := math.Inf(1), 0.0
	for _, g := range groups {
		total += p.P[g]
	}
	for t, d := range p.Tests {
		parts := map[uint8][]int{}
		for _, g := range groups {
			parts[d.Answer[g]] = append(parts[d.Answer[g]], g)
		}
		if len(parts) < 2 {
			continue
		}
		sum := p.Cost(from, t)
		for a := range uint8(3) {
			if part := parts[a]; len(part) > 0 {
				share := 0.0
				for _, g := range part {
					share += p.P[g] / total
				}
				sum += share * every(p, part, d.To)
			}
		}
		best = min(best, sum)
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

func TestBestIsTheLeastOfAllPolicies(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		groups := make([]int, len(p.P))
		for i := range groups {
			groups[i] = i
		}
		want := every(p, groups, p.Start)
		test, got := p.Best()
		require.InDelta(t, want, got, 1e-9)
		require.Equal(t, want > 0, test >= 0, "a test is named exactly when one tells something")
		require.InDelta(t, want, p.Follow(), 1e-9, "so few groups and tests are searched exactly")
	})
}

func TestBestDoesNotDependOnTheOrderOfGroupsAndTests(t *testing.T) {
	t.Parallel()
	for i := range 40 {
		r := rand.New(rand.NewPCG(7, uint64(i)))
		p := randomCircuit(r, 4+r.IntN(7), i%2 == 1).problem()
		_, want := p.Best()
		groups, tests := r.Perm(len(p.P)), r.Perm(len(p.Tests))
		q := &decide.Problem{Start: p.Start, Cost: func(from uint8, t int) float64 { return p.Cost(from, tests[t]) }}
		for _, g := range groups {
			q.P = append(q.P, p.P[g])
		}
		for _, k := range tests {
			d := decide.Test{To: p.Tests[k].To}
			for _, g := range groups {
				d.Answer = append(d.Answer, p.Tests[k].Answer[g])
			}
			q.Tests = append(q.Tests, d)
		}
		_, got := q.Best()
		require.InDelta(t, want, got, 1e-9)
		_, again := p.Best()
		require.Equal(t, want, again, "the same to the last bit when asked twice")
	}
}

func TestNothingIsAskedWhenNothingTellsTheGroupsApart(t *testing.T) {
	t.Parallel()
	p := &decide.Problem{P: []float64{1, 2}, Tests: []decide.Test{{Answer: []uint8{3, 3}}}, Cost: func(uint8, int) float64 { return 1 }}
	require.Equal(t, -1, p.Next(p.All(), 0))
	test, minutes := p.Best()
	require.Equal(t, -1, test)
	require.Zero(t, minutes)
	require.Zero(t, p.Follow())
}

func TestTooManyGroupsForAnExactSearchPanic(t *testing.T) {
	t.Parallel()
	p := &decide.Problem{P: make([]float64, decide.MostGroups+1)}
	require.Panics(t, func() { p.Best() })
	require.Panics(t, func() { p.Follow() })
}
