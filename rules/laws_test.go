package rules_test

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
	"proveout/rules"
)

// said draws what people tell: mostly points of the unit, now and then something
// nobody knows; ordinary values, impossible ones and none at all.
func said(t *rapid.T, base *knowledge.Base, m *rules.Model) rules.Item {
	a := rapid.SampledFrom(m.Tests()).Draw(t, "point")
	it := rules.Item{Reading: a.Reading, Subject: a.Observation, State: a.State}
	if rapid.IntRange(0, 9).Draw(t, "stray state") == 0 {
		it.State = rapid.SampledFrom([]string{"", "calling", "standing", "de-energised", "asleep"}).Draw(t, "state")
	}
	if it.Subject != "" {
		it.Seen = rapid.SampledFrom(append([]string{"", "purple"}, base.Observations[it.Subject].Order...)).Draw(t, "seen")
		return it
	}
	it.Value = rapid.OneOf(
		rapid.Float64Range(0, 700),
		rapid.SampledFrom([]float64{0, -0.5, 24, 26.5, 120, 240, 4100, 24000, 1e6, 1e300, -1e300, math.Inf(1), math.Inf(-1), math.NaN(), math.SmallestNonzeroFloat64}),
	).Draw(t, "value")
	it.Approximate = rapid.Bool().Draw(t, "about")
	if rapid.Bool().Draw(t, "range") {
		it.Low = rapid.Float64().Draw(t, "low")
		it.High = rapid.Float64().Draw(t, "high")
	}
	return it
}

// anything draws a situation nobody would believe.
func anything(t *rapid.T, base *knowledge.Base, m *rules.Model) *rules.Situation {
	s := &rules.Situation{
		Facts: map[string]string{}, Lacks: map[string]bool{}, CannotTake: map[string]bool{}, Rechecked: map[string]int{},
		State: rapid.SampledFrom([]string{"", "calling", "standing", "de-energised", "asleep"}).Draw(t, "machine"),
		Place: rapid.SampledFrom([]string{"", "indoor", "outdoor", "roof"}).Draw(t, "place"),
	}
	for range rapid.IntRange(0, 12).Draw(t, "items") {
		it := said(t, base, m)
		switch rapid.IntRange(0, 19).Draw(t, "unknown") {
		case 0:
			it = rules.Item{Reading: "voltage/nowhere", Value: 24}
		case 1:
			it = rules.Item{Subject: "ghost", Seen: "white"}
		case 2:
			it = rules.Item{}
		}
		s.Evidence = append(s.Evidence, it)
	}
	for _, f := range rapid.SliceOfN(rapid.SampledFrom(slices.Sorted(maps.Keys(base.Facts))), 0, 4).Draw(t, "facts") {
		s.Facts[f] = rapid.SampledFrom([]string{"", "R-410A", "R-22", "50", "-3", "NaN", "none", "lots"}).Draw(t, "fact")
	}
	fault := rapid.SampledFrom(append([]string{"", "nobodys/fault"}, m.Faults()...))
	s.Repaired = rapid.SliceOfN(fault, 0, 2).Draw(t, "repaired")
	s.Overruled = rapid.SliceOfN(fault, 0, 2).Draw(t, "overruled")
	if rapid.IntRange(0, 5).Draw(t, "senior") == 0 {
		s.Ruled = fault.Draw(t, "ruled")
	}
	for _, a := range rapid.SliceOfN(rapid.SampledFrom(m.Tests()), 0, 6).Draw(t, "out of reach") {
		s.CannotTake[a.Key()] = true
		s.CannotTake[string(a.Reading)+a.Observation] = rapid.Bool().Draw(t, "in any state")
	}
	for _, a := range rapid.SliceOfN(rapid.SampledFrom(m.Tests()), 0, 3).Draw(t, "repeated") {
		s.Rechecked[a.Key()] = rapid.IntRange(0, 3).Draw(t, "times")
	}
	if rapid.Bool().Draw(t, "no meter") {
		s.Lacks["multimeter"] = true
	}
	return s
}

func TestAnySituationGivesOneThingToDoAndHonestProbabilities(t *testing.T) {
	t.Parallel()
	base, m := splitCooling(t)
	rapid.Check(t, func(t *rapid.T) {
		s := anything(t, base, m)
		d := m.Diagnose(s)
		set := 0
		for _, one := range []bool{d.Ask != nil, d.Call != nil, d.Stuck} {
			if one {
				set++
			}
		}
		require.Equal(t, 1, set, "a question, a call, or stuck")
		total := 0.0
		for _, p := range m.Hypotheses(s) {
			require.True(t, p >= 0 && p <= 1, "%g is no probability", p)
			total += p
		}
		require.InDelta(t, 1, total, 1e-9)
		require.False(t, math.IsNaN(d.Entropy) || d.Entropy < 0, "entropy %g", d.Entropy)
		for i, x := range d.Suspects {
			require.True(t, x.Probability > 0 && x.Probability <= 1+1e-9)
			require.True(t, i == 0 || x.Probability <= d.Suspects[i-1].Probability, "likeliest first")
			require.Subset(t, places(len(s.Evidence)), x.Because)
		}
		for _, x := range d.RuledOut {
			require.Less(t, x.By, len(s.Evidence))
			require.GreaterOrEqual(t, x.By, 0)
			for _, y := range d.Suspects {
				require.NotEqual(t, x.Fault, y.Fault, "a suspect is not ruled out")
			}
		}
		if d.Ask != nil {
			require.Positive(t, d.Ask.Minutes)
			total = 0
			for _, o := range d.Ask.Outcomes {
				total += o.Probability
				for _, l := range o.Leaves {
					require.True(t, l.Probability >= 0 && l.Probability <= 1+1e-9)
				}
			}
			require.LessOrEqual(t, total, 1+1e-9)
		}
		require.Equal(t, d, m.Diagnose(s), "the same to the last bit when asked again")
	})
}

func places(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	return out
}

func TestTwoCompilationsAgreeToTheLastBit(t *testing.T) {
	t.Parallel()
	_, m := splitCooling(t)
	want := m.Forecasts()
	for range 3 {
		base, err := knowledge.Load(knowledge.Embedded())
		require.NoError(t, err)
		again, err := rules.Compile(base, "split-cooling", nil)
		require.NoError(t, err)
		require.Equal(t, m.Faults(), again.Faults())
		got := again.Forecasts()
		require.Len(t, got, len(want))
		for i := range want {
			require.Equal(t, want[i], got[i], want[i].Key)
		}
		rapid.Check(t, func(t *rapid.T) {
			s := anything(t, base, m)
			require.Equal(t, m.Diagnose(s), again.Diagnose(s))
		})
	}
}

func TestTheOrderOfIndependentReadingsDoesNotMoveThePosterior(t *testing.T) {
	t.Parallel()
	base, m := splitCooling(t)
	rapid.Check(t, func(t *rapid.T) {
		s := anything(t, base, m)
		seen := map[string]bool{}
		s.Evidence = slices.DeleteFunc(s.Evidence, func(it rules.Item) bool {
			key := m.TestOf(it)
			defer func() { seen[key] = true }()
			return seen[key] // a second one would be a correction
		})
		other := *s
		other.Evidence = rapid.Permutation(s.Evidence).Draw(t, "order")
		want, got := m.Posterior(s), m.Posterior(&other)
		for f := range want {
			require.InDelta(t, want[f], got[f], 1e-9, f)
		}
	})
}

func TestAReadingNobodyModelsChangesNothing(t *testing.T) {
	t.Parallel()
	base, m := splitCooling(t)
	rapid.Check(t, func(t *rapid.T) {
		s := anything(t, base, m)
		want := m.Diagnose(s)
		for _, it := range []rules.Item{
			{Reading: "voltage/nowhere", Value: 24, State: knowledge.Calling},
			{Reading: "nonsense", Value: math.NaN()},
			{Subject: "ghost", Seen: "white"},
			{},
		} {
			more := *s
			more.Evidence = append(slices.Clone(s.Evidence), it)
			require.Equal(t, verdict(want), verdict(m.Diagnose(&more)))
		}
	})
}

// verdict is a diagnosis without its places in the evidence, which move when
// something is put before what was made of the readings.
func verdict(d *rules.Diagnosis) any {
	type suspect struct {
		fault       string
		probability float64
	}
	var v struct {
		suspects []suspect
		asked    string
		called   string
		stuck    bool
	}
	for _, s := range d.Suspects {
		v.suspects = append(v.suspects, suspect{s.Fault, s.Probability})
	}
	if d.Ask != nil {
		v.asked = d.Ask.Key() + d.Ask.Fact
	}
	if d.Call != nil {
		v.called = d.Call.Fault
	}
	v.stuck = d.Stuck
	return v
}

func TestAReadingAndItsCorrectionIsTheCorrectionAlone(t *testing.T) {
	t.Parallel()
	base, m := splitCooling(t)
	rapid.Check(t, func(t *rapid.T) {
		s := anything(t, base, m)
		right := said(t, base, m)
		if !m.Readable(right) {
			t.Skip("what says nothing corrects nothing")
		}
		wrong := right
		if wrong.Subject != "" {
			wrong.Seen = rapid.SampledFrom(base.Observations[wrong.Subject].Order).Draw(t, "wrong")
			o := base.Observations[wrong.Subject]
			if slices.Contains(o.Beside, wrong.Seen) || slices.Contains(o.Beside, right.Seen) {
				t.Skip("one is seen beside the other")
			}
		}
		wrong.Value = rapid.Float64Range(0, 700).Draw(t, "wrong")
		alone, both := *s, *s
		alone.Evidence = append(slices.Clone(s.Evidence), right)
		both.Evidence = append(append(slices.Clone(s.Evidence), wrong), right)
		require.Equal(t, m.Posterior(&alone), m.Posterior(&both))
		want, got := m.Diagnose(&alone), m.Diagnose(&both)
		require.Equal(t, want.Stuck, got.Stuck)
		require.Equal(t, want.Call == nil, got.Call == nil)
		if want.Ask != nil {
			require.Equal(t, want.Ask.Key(), got.Ask.Key())
			require.Equal(t, want.Ask.Purpose, got.Ask.Purpose)
		}
		if want.Call != nil {
			require.Equal(t, want.Call.Fault, got.Call.Fault)
		}
	})
}

func TestWhatIsTrueOfAFaultNeverRulesItOut(t *testing.T) {
	t.Parallel()
	_, m := splitCooling(t)
	rapid.Check(t, func(t *rapid.T) {
		truth := rapid.SampledFrom(m.Truths()).Draw(t, "truth")
		s := &rules.Situation{State: knowledge.Calling}
		for _, a := range rapid.SliceOfNDistinct(rapid.SampledFrom(m.Tests()), 1, 12, (*rules.Ask).Key).Draw(t, "tests") {
			it, ok := m.Answer(truth, a)
			require.True(t, ok)
			s.Evidence = append(s.Evidence, it)
			for _, x := range m.Diagnose(s).RuledOut {
				require.NotEqual(t, truth.Fault, x.Fault, "after %+v", s.Evidence)
			}
		}
	})
}
