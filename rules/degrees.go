package rules

import (
	"math"
	"slices"

	"proveout/rules/machine"
)

// widenDegrees makes the degrees of one fault cover what lies between them: a
// capacitor may be down by any share, not just by the shares solved for.
func (m *Model) widenDegrees(state string, ls [][]lobe) {
	for _, g := range m.degrees(state) {
		if !m.parted(g, ls) {
			widenPair(ls[g.a], ls[g.b])
		}
	}
}

// parted says whether a third degree of the fault predicts something between two.
func (m *Model) parted(g pairOfDegrees, ls [][]lobe) bool {
	a, b := mainMean(ls[g.a]), mainMean(ls[g.b])
	for h := g.a; h >= 0 && m.sameGroup(g.a, h); h-- {
		if c := mainMean(ls[h]); (c-a)*(c-b) < 0 {
			return true
		}
	}
	for h := g.a + 1; h < len(m.hyps) && m.sameGroup(g.a, h); h++ {
		if c := mainMean(ls[h]); (c-a)*(c-b) < 0 {
			return true
		}
	}
	return false
}

// pairOfDegrees are two degrees of one fault with nothing but more and less between
// them.
type pairOfDegrees struct{ a, b int }

// degrees lists, for a state, the pairs of degrees that blend into each other.
func (m *Model) degrees(state string) []pairOfDegrees {
	if out, ok := m.blends[state]; ok {
		return out
	}
	var out []pairOfDegrees
	for i := range m.hyps {
		for j := i + 1; j < len(m.hyps) && m.sameGroup(i, j); j++ {
			if sameParts(&m.hyps[i], &m.hyps[j]) && sameMoves(&m.hyps[i], &m.hyps[j], state) {
				out = append(out, pairOfDegrees{i, j})
			}
		}
	}
	m.blends[state] = out
	return out
}

// widenPair lets each of two degrees reach half way to the other.
func widenPair(a, b []lobe) {
	if len(a) != len(b) {
		return
	}
	for l := range a {
		gap := math.Abs(a[l].mean-b[l].mean) / 2
		a[l].sigma, b[l].sigma = max(a[l].sigma, gap), max(b[l].sigma, gap)
	}
}

// sameParts says whether two degrees set the same parts, so that what lies
// between them is a degree too.
func sameParts(a, b *hypothesis) bool {
	if len(a.setting.Modes) != len(b.setting.Modes) {
		return false
	}
	for c := range a.setting.Modes {
		if _, ok := b.setting.Modes[c]; !ok {
			return false
		}
	}
	return true
}

// sameMoves says whether under two degrees the same things are open, pulled in and
// turning: only then does a reading go smoothly from one to the other.
func sameMoves(a, b *hypothesis, state string) bool {
	x, y := a.behaviour.Phases[state], b.behaviour.Phases[state]
	return slices.EqualFunc(x, y, (*machine.Phase).SameMoves)
}
