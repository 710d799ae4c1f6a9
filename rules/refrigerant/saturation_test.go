package refrigerant_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

// slope is psi for one °F.
func slope(pressure func(float64) float64, f float64) float64 {
	return pressure(f+0.5) - pressure(f-0.5)
}

// TestEveryDegreeFollowsTheEquationOfState looks up every 1 °F row of the reference
// tables, both ways and on both lines; testdata names each equation.
func TestEveryDegreeFollowsTheEquationOfState(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		worst := 0.0
		for _, row := range rows(t, "equation-of-state/"+name+".csv") {
			f := number(t, row["temperature_f"])
			for side, at := range map[string]func(float64) (float64, error){"bubble": table.BubbleTemperature, "dew": table.DewTemperature} {
				psia := number(t, row[side+"_psig"]) + refrigerant.StandardAtmosphere
				got, err := at(psia)
				require.NoError(t, err, "%s %s at %g °F", name, side, f)
				require.InDelta(t, f, got, within, "%s %s at %.3f psia", name, side, psia)
				worst = max(worst, math.Abs(got-f))
			}
		}
		t.Logf("%s: worst %.4f °F", name, worst)
	}
}

func TestPressuresFollowTheEquationOfStateToo(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		for _, row := range rows(t, "equation-of-state/"+name+".csv") {
			f := number(t, row["temperature_f"])
			for side, pressure := range map[string]func(float64) float64{"bubble_psig": table.Bubble, "dew_psig": table.Dew} {
				off := math.Abs(pressure(f)-number(t, row[side])) / slope(pressure, min(max(f, -59), 150))
				require.LessOrEqual(t, off, within, "%s %s at %g °F gives %.3f psig, not %s", name, side, f, pressure(f), row[side])
			}
		}
	}
}

// published holds each row of a file against the table, its rounding let pass.
func published(t *testing.T, file string) {
	byName := tables(t)
	for _, row := range rows(t, file) {
		table, f, want := byName[row["refrigerant"]], number(t, row["temperature_f"]), number(t, row["published_psig"])
		require.NotNil(t, table, row["refrigerant"])
		sides := map[string][]func(float64) float64{"bubble": {table.Bubble}, "dew": {table.Dew}, "saturated": {table.Bubble, table.Dew}}[row["side"]]
		require.NotEmpty(t, sides, row["side"])
		for _, pressure := range sides {
			slack := number(t, row["tolerance_psi"]) + within*slope(pressure, f)
			require.InDelta(t, want, pressure(f), slack, "%s %s at %g °F (%s)", row["refrigerant"], row["side"], f, row["source"])
		}
	}
}

func TestPublishedPressures(t *testing.T) {
	t.Parallel()
	published(t, "published.csv")
}

func TestRememberedPressuresShowNoGrossSlip(t *testing.T) {
	t.Parallel()
	published(t, "remembered.csv")
}

func TestOutsideTheTableItsEndHolds(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		require.Equal(t, table.Dew(-60), table.Dew(-300), name)
		require.Equal(t, table.Bubble(1000), table.Bubble(5000), name)
		require.False(t, math.IsNaN(table.Dew(math.Inf(1))), name)
	}
}

func TestOutsideTheTableALookUpIsRefusedWithTheRangeAndTheMend(t *testing.T) {
	t.Parallel()
	table := tables(t)["R-410A"]
	for mend, look := range map[string]func() (float64, error){
		"°C?":                        func() (float64, error) { return table.DewPressure(400) },
		"°F, only from -60 to 155":   func() (float64, error) { return table.BubblePressure(-61) },
		"read in kPa, say 814kPa":    func() (float64, error) { return table.DewTemperature(814 + refrigerant.StandardAtmosphere) },
		"hoses swapped?":             func() (float64, error) { return table.BubbleTemperature(1) },
		"no dew temperature at NaN":  func() (float64, error) { return table.Superheat(math.NaN(), 60) },
		"no bubble temperature at -": func() (float64, error) { return table.Subcooling(-20, 60) },
	} {
		_, err := look()
		var outside *refrigerant.RangeError
		require.ErrorAs(t, err, &outside)
		require.Equal(t, "R-410A", outside.Refrigerant)
		require.Less(t, outside.Low, outside.High)
		require.ErrorContains(t, err, mend)
	}
}

func TestAGaugeCannotShowLessThanAVacuum(t *testing.T) {
	t.Parallel()
	for _, psig := range []float64{-14.696, -20, math.NaN()} {
		_, err := refrigerant.Absolute(psig, refrigerant.StandardAtmosphere)
		var vacuum *refrigerant.VacuumError
		require.ErrorAs(t, err, &vacuum)
		require.ErrorContains(t, err, "inHg")
	}
	psia, err := refrigerant.Absolute(-14, refrigerant.StandardAtmosphere)
	require.NoError(t, err)
	require.InDelta(t, 0.696, psia, 1e-12)
}

func TestATableThatDoesNotRiseIsRefused(t *testing.T) {
	t.Parallel()
	for rule, r := range map[string]*knowledge.Refrigerant{
		"temperatures fall":    {Name: "R-0", Table: [][3]float64{{10, 5, 5}, {5, 6, 6}}},
		"dew stands still":     {Name: "R-0", Table: [][3]float64{{5, 5, 5}, {10, 6, 5}}},
		"one row is no line":   {Name: "R-0", Table: [][3]float64{{5, 5, 5}}},
		"no row at all":        {Name: "R-0"},
		"below a vacuum":       {Name: "R-0", Table: [][3]float64{{5, -15, -15}, {10, 6, 5}}},
		"below absolute zero":  {Name: "R-0", Table: [][3]float64{{-460, 5, 5}, {10, 6, 6}}},
		"a row is not numbers": {Name: "R-0", Table: [][3]float64{{5, 5, 5}, {math.NaN(), 6, 6}}},
	} {
		_, err := refrigerant.New(r)
		require.ErrorContains(t, err, "R-0", rule)
	}
}
