package charge_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
	"proveout/rules/charge"
	"proveout/rules/target"
)

// embedded is the shipped knowledge, loaded once: nothing changes it.
var embedded = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

func checks(t testing.TB) *charge.Checks {
	t.Helper()
	base, err := embedded()
	require.NoError(t, err)
	c, err := charge.NewChecks(base)
	require.NoError(t, err)
	return c
}

// fit is a setting in which every condition holds.
func fit() charge.Setting {
	return charge.Setting{Outdoor: 95, ReturnDryBulb: 78, ReturnWetBulb: 67, Airflow: charge.Verified, Minutes: 15}
}

// TestTheTargetTableIsWhatWasHandedOver compares every cell with the file it was made
// from: the table is from memory, so that proves the copying and nothing else.
func TestTheTargetTableIsWhatWasHandedOver(t *testing.T) {
	t.Parallel()
	src, err := os.ReadFile("testdata/target-superheat.csv")
	require.NoError(t, err)
	r := csv.NewReader(strings.NewReader(string(src)))
	r.Comment = '#'
	lines, err := r.ReadAll()
	require.NoError(t, err)
	cells := 0
	for _, line := range lines[1:] {
		for i, text := range line[1:] {
			wetBulb := number(t, strings.TrimPrefix(lines[0][i+1], "wb"))
			got, err := checks(t).TargetSuperheat(number(t, line[0]), wetBulb)
			if text == "" {
				var none *target.NoTargetError
				require.ErrorAs(t, err, &none)
				continue
			}
			require.NoError(t, err)
			require.InDelta(t, number(t, text), got, 1e-9)
			cells++
		}
	}
	require.Equal(t, 1054, cells)
	mark, source := checks(t).TargetTable()
	require.Equal(t, "from memory", mark)
	require.Contains(t, source, "RA3.2")
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// TestTheRuleOfThumbLiesNearTheTable: (3·WB − 80 − DB)/2, common practice, within
// 3.2 °F where it is a fair fallback.
func TestTheRuleOfThumbLiesNearTheTable(t *testing.T) {
	t.Parallel()
	for outdoor := 75.0; outdoor <= 105; outdoor++ {
		for wetBulb := 60.0; wetBulb <= 72; wetBulb++ {
			at, err := checks(t).TargetSuperheat(outdoor, wetBulb)
			if err == nil {
				require.InDelta(t, (3*wetBulb-80-outdoor)/2, at, 3.2, "%g/%g", outdoor, wetBulb)
			}
		}
	}
}

func TestAFixedOrificeIsJudgedBySuperheat(t *testing.T) {
	t.Parallel()
	for superheat, call := range map[float64]charge.Call{
		3: charge.Over, 6.9: charge.Over, 7: charge.Right, 12: charge.Right, 17: charge.Right, 17.1: charge.Under, 30: charge.Under,
	} {
		v := checks(t).FixedOrifice(fit(), superheat)
		require.Equal(t, call, v.Call, superheat)
		require.Empty(t, v.Unmet)
		require.InDelta(t, 12, v.Target, 1e-9)
		require.InDelta(t, superheat-12, v.Difference, 1e-9)
		require.Equal(t, "from memory", v.Mark)
	}
}

func TestAnExpansionValveIsJudgedBySubcooling(t *testing.T) {
	t.Parallel()
	for subcooling, call := range map[float64]charge.Call{
		2: charge.Under, 6.9: charge.Under, 7: charge.Right, 10: charge.Right, 13: charge.Right, 13.1: charge.Over,
	} {
		v := checks(t).ExpansionValve(fit(), subcooling, 10, 12)
		require.Equal(t, call, v.Call, subcooling)
		require.Equal(t, target.Within, v.Valve)
	}
	require.Equal(t, target.Above, checks(t).ExpansionValve(fit(), 10, 10, 26).Valve)
	require.Equal(t, target.Below, checks(t).ExpansionValve(fit(), 10, 10, 3).Valve)
	require.Empty(t, checks(t).ExpansionValve(fit(), 10, 10, math.NaN()).Valve)
}

func TestWhereAConditionFailsNothingIsJudged(t *testing.T) {
	t.Parallel()
	none := math.NaN()
	for rule, c := range map[string]struct {
		change func(*charge.Setting)
		unmet  charge.ConditionID
	}{
		"too cold outside":             {func(s *charge.Setting) { s.Outdoor = 54.9 }, charge.OutdoorWarm},
		"outside not taken":            {func(s *charge.Setting) { s.Outdoor = none }, charge.OutdoorWarm},
		"too cold inside":              {func(s *charge.Setting) { s.ReturnDryBulb = 69 }, charge.ReturnWarm},
		"inside not taken":             {func(s *charge.Setting) { s.ReturnDryBulb = none }, charge.ReturnWarm},
		"airflow low":                  {func(s *charge.Setting) { s.Airflow = charge.Low }, charge.AirflowDone},
		"airflow not verified":         {func(s *charge.Setting) { s.Airflow = "" }, charge.AirflowDone},
		"the split without its target": {func(s *charge.Setting) { s.Airflow = charge.Unjudged }, charge.AirflowDone},
		"not settled":                  {func(s *charge.Setting) { s.Minutes = 9 }, charge.Settled},
		"nobody said how long it runs": {func(s *charge.Setting) { s.Minutes = none }, charge.Settled},
	} {
		s := fit()
		c.change(&s)
		for _, v := range []charge.Verdict{checks(t).FixedOrifice(s, 30), checks(t).ExpansionValve(s, 2, 10, none)} {
			require.Equal(t, charge.NotJudged, v.Call, rule)
			require.Equal(t, c.unmet, v.Unmet[0].ID, rule)
			saidOf(t, v.Unmet[0])
		}
	}
}

func TestWithoutATargetOrAReadingNothingIsJudged(t *testing.T) {
	t.Parallel()
	none := math.NaN()
	with := func(change func(*charge.Setting)) charge.Setting {
		s := fit()
		change(&s)
		return s
	}
	for rule, c := range map[string]struct {
		verdict charge.Verdict
		unmet   charge.ConditionID
	}{
		"hot and dry, the table is blank": {checks(t).FixedOrifice(with(func(s *charge.Setting) { s.Outdoor, s.ReturnWetBulb = 110, 60 }), 10), charge.TargetGiven},
		"hotter than the table":           {checks(t).FixedOrifice(with(func(s *charge.Setting) { s.Outdoor = 120 }), 10), charge.TargetGiven},
		"wet bulb not taken":              {checks(t).FixedOrifice(with(func(s *charge.Setting) { s.ReturnWetBulb = none }), 10), charge.WetBulb},
		"wet bulb above dry bulb":         {checks(t).FixedOrifice(with(func(s *charge.Setting) { s.ReturnDryBulb = 70; s.ReturnWetBulb = 72 }), 10), charge.WetBulb},
		"superheat not taken":             {checks(t).FixedOrifice(fit(), none), charge.ReadingDone},
		"plate not readable":              {checks(t).ExpansionValve(fit(), 10, none, none), charge.TargetGiven},
		"subcooling not taken":            {checks(t).ExpansionValve(fit(), none, 10, none), charge.ReadingDone},
	} {
		require.Equal(t, charge.NotJudged, c.verdict.Call, rule)
		require.Len(t, c.verdict.Unmet, 1, rule)
		require.Equal(t, c.unmet, c.verdict.Unmet[0].ID, rule)
		saidOf(t, c.verdict.Unmet[0])
	}
}

// saidOf holds that there are words for a condition, and figures for all they leave open.
func saidOf(t *testing.T, c charge.Condition) {
	t.Helper()
	base, err := embedded()
	require.NoError(t, err)
	for _, phrase := range []string{"unmet-", "mend-"} {
		text := base.Phrases.Say(phrase+c.Name(), c.Figures...)
		require.NotEmpty(t, text, c.Name())
		require.NotContains(t, text, "{", c.Name())
	}
}

func TestBeforeItHasFullySettledItIsReadAgain(t *testing.T) {
	t.Parallel()
	s := fit()
	require.False(t, checks(t).FixedOrifice(s, 12).Settling)
	s.Minutes = 12
	v := checks(t).FixedOrifice(s, 12)
	require.Equal(t, charge.Right, v.Call)
	require.True(t, v.Settling)
}

func TestTheTargetFallsWithHeatOutsideAndRisesWithMoistureInside(t *testing.T) {
	t.Parallel()
	c := checks(t)
	rapid.Check(t, func(t *rapid.T) {
		outdoor, wetBulb := rapid.Float64Range(55, 114).Draw(t, "outdoor"), rapid.Float64Range(50, 75).Draw(t, "wet bulb")
		at, err := c.TargetSuperheat(outdoor, wetBulb)
		if err != nil {
			return
		}
		if hotter, err := c.TargetSuperheat(outdoor+1, wetBulb); err == nil {
			require.LessOrEqual(t, hotter, at)
		}
		wetter, err := c.TargetSuperheat(outdoor, wetBulb+1)
		require.NoError(t, err)
		require.GreaterOrEqual(t, wetter, at)
	})
}

func TestKnowledgeWithoutALimitIsRefused(t *testing.T) {
	t.Parallel()
	_, err := charge.NewChecks(&knowledge.Base{})
	require.ErrorContains(t, err, "no limit charge-airflow-least")
}

func TestAMeasuredAirflowIsHeldToTheLeastATon(t *testing.T) {
	t.Parallel()
	c := checks(t)
	require.Equal(t, charge.Verified, c.Measured(1200, 3))
	require.Equal(t, charge.Low, c.Measured(840, 3))
	require.Equal(t, charge.NotVerified, c.Measured(1200, math.NaN()))
	require.Equal(t, charge.NotVerified, c.Measured(math.NaN(), 3))
}
