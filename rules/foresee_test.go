package rules_test

import (
	"cmp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
)

// TestTheMinutesForeseenAreThoseOfTheGames plays the likeliest faults by the package
// that plays technicians, which shares nothing with the foresight but the engine.
func TestTheMinutesForeseenAreThoseOfTheGames(t *testing.T) {
	t.Parallel()
	base, m := splitCooling(t)
	share := map[string]float64{}
	likeliest := map[string]rules.Truth{}
	for _, x := range m.Truths() {
		if old, ok := likeliest[x.Fault]; !ok || m.Share(x) > m.Share(old) {
			likeliest[x.Fault] = x
		}
	}
	d := m.Diagnose(&rules.Situation{State: knowledge.Calling})
	for _, x := range d.Suspects {
		share[x.Fault] = x.Probability
	}
	faults := make([]string, 0, len(share))
	for f := range share {
		faults = append(faults, f)
	}
	slices.SortFunc(faults, func(a, b string) int { return cmp.Compare(share[b], share[a]) })
	require.Len(t, faults, 8)
	want, total := 0.0, 0.0
	for _, f := range faults {
		r := prove.Play(m, base, likeliest[f], prove.Game{})
		want, total = want+share[f]*r.Minutes, total+share[f]
	}
	require.InDelta(t, want/total, m.MinutesToCall(&rules.Situation{State: knowledge.Calling}), 1e-6)
}

func TestNothingIsForeseenBehindACall(t *testing.T) {
	t.Parallel()
	base, m := splitCooling(t)
	s := midJob()
	require.Positive(t, m.MinutesToCall(s))
	require.Len(t, s.Evidence, 6, "the situation is not changed")
	facts := told(nil)
	called, err := rules.Compile(base, "split-cooling", facts)
	require.NoError(t, err)
	done := &rules.Situation{Facts: facts, Evidence: running(lowCharge()...), State: knowledge.Calling}
	done.Reread = called.Diagnose(done).Call.Fault
	require.Zero(t, called.MinutesToCall(done))
}

// BenchmarkMinutesToCall is what the board pays for a job that has moved.
func BenchmarkMinutesToCall(b *testing.B) {
	_, m := splitCooling(b)
	s := midJob()
	for b.Loop() {
		m.MinutesToCall(s)
	}
}
