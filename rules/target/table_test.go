package target_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
	"proveout/rules/target"
)

// small has a blank in its second row.
func small() *knowledge.Target {
	return &knowledge.Target{
		Name: "target of a test", Down: "outdoor dry bulb", Across: "return wet bulb", Step: 1, Mark: "from memory", Source: "invented",
		Rows: []knowledge.TargetRow{
			{At: 90, From: 60, Values: []float64{6, 8, 10}},
			{At: 92, From: 61, Values: []float64{6, 8}},
			{At: 94, From: 60, Values: []float64{2, 4, 6}},
		},
	}
}

func TestCellsAreReadAsTheyStandAndStraightBetween(t *testing.T) {
	t.Parallel()
	table, err := target.New(small())
	require.NoError(t, err)
	require.Equal(t, "from memory", table.Mark)
	require.Equal(t, "invented", table.Source)
	for at, want := range map[[2]float64]float64{
		{90, 60}: 6, {90, 62}: 10, {92, 61}: 6, {94, 60}: 2, {94, 62}: 6,
		{90, 60.5}: 7, {91, 61}: 7, {93, 61.5}: 6, {90.5, 61.5}: 8.5,
	} {
		got, err := table.At(at[0], at[1])
		require.NoError(t, err, at)
		require.InDelta(t, want, got, 1e-12, at)
	}
}

func TestABlankCellGivesNoTarget(t *testing.T) {
	t.Parallel()
	table, err := target.New(small())
	require.NoError(t, err)
	for _, at := range [][2]float64{{92, 60}, {91, 60}, {93.9, 60.9}, {92, 60.99}} {
		_, err := table.At(at[0], at[1])
		var none *target.NoTargetError
		require.ErrorAs(t, err, &none, at)
		require.Equal(t, 61.0, none.From)
		require.ErrorContains(t, err, "no valid test can be made there")
	}
}

func TestOutsideTheTableTheErrorSaysHowFarItReaches(t *testing.T) {
	t.Parallel()
	table, err := target.New(small())
	require.NoError(t, err)
	for _, at := range [][2]float64{{89.9, 61}, {94.1, 61}, {92, 59}, {92, 63}, {math.NaN(), 61}, {92, math.NaN()}} {
		_, err := table.At(at[0], at[1])
		var outside *target.OutsideError
		require.ErrorAs(t, err, &outside, at)
		require.ErrorContains(t, err, "is given from")
	}
}

func TestATableThatCannotBeReadIsRefused(t *testing.T) {
	t.Parallel()
	for rule, change := range map[string]func(*knowledge.Target){
		"no step":        func(t *knowledge.Target) { t.Step = 0 },
		"one row":        func(t *knowledge.Target) { t.Rows = t.Rows[:1] },
		"rows fall":      func(t *knowledge.Target) { t.Rows[1].At = 80 },
		"a row is empty": func(t *knowledge.Target) { t.Rows[2].Values = nil },
	} {
		data := small()
		change(data)
		_, err := target.New(data)
		require.ErrorContains(t, err, "target of a test", rule)
	}
}

func TestABandHasThreeSidesAndAnEdge(t *testing.T) {
	t.Parallel()
	band := target.Share(45, 6, 6)
	require.InDelta(t, 42.3, band.Low, 1e-9)
	require.InDelta(t, 47.7, band.High, 1e-9)
	for value, want := range map[float64][2]target.Place{
		40:   {target.Below, target.Below},
		42.3: {target.Within, target.Edge},
		43:   {target.Within, target.Edge},
		45:   {target.Within, target.Within},
		48:   {target.Above, target.Edge},
		60:   {target.Above, target.Above},
	} {
		require.Equal(t, want, [2]target.Place{band.Place(value, 0), band.Place(value, 1.3)}, value)
	}
}

func TestAValueIsAlwaysWithinTheBandAroundItself(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v, off := rapid.Float64Range(-1e6, 1e6).Draw(t, "value"), rapid.Float64Range(0, 100).Draw(t, "off")
		require.Equal(t, target.Within, target.Around(v, off, off).Place(v, 0))
		require.Equal(t, target.Within, target.Around(v, off, off).Place(v+off, 0))
		require.Equal(t, target.Below, target.Around(v, off, off).Place(v-off-1, 0))
	})
}
