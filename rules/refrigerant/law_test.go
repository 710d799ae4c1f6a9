package refrigerant_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

func TestPressureRisesWithTemperatureAndBubbleIsNotBelowDew(t *testing.T) {
	t.Parallel()
	byName := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		for name, table := range byName {
			f := rapid.Float64Range(-60, 150).Draw(t, "°F")
			require.Less(t, table.Dew(f), table.Dew(f+0.01), name)
			require.Less(t, table.Bubble(f), table.Bubble(f+0.01), name)
			require.GreaterOrEqual(t, table.Bubble(f), table.Dew(f)-1e-9, name)
		}
	})
}

func TestTemperatureAndPressureAreEachOthersInverse(t *testing.T) {
	t.Parallel()
	byName := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		for name, table := range byName {
			low, high := table.Span()
			f := rapid.Float64Range(low, high).Draw(t, "°F")
			bubble, err := table.BubblePressure(f)
			require.NoError(t, err)
			back, err := table.BubbleTemperature(bubble)
			require.NoError(t, err, name)
			require.InDelta(t, f, back, 1e-9, name)
			dew, err := table.DewPressure(f)
			require.NoError(t, err)
			back, err = table.DewTemperature(dew)
			require.NoError(t, err, name)
			require.InDelta(t, f, back, 1e-9, name)
		}
	})
}

func TestAtSaturationSuperheatAndSubcoolingAreNothing(t *testing.T) {
	t.Parallel()
	byName := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		for name, table := range byName {
			f := rapid.Float64Range(-60, 155).Draw(t, "°F")
			above := rapid.Float64Range(0, 40).Draw(t, "superheat")
			dew, err := table.DewPressure(f)
			require.NoError(t, err)
			superheat, err := table.Superheat(dew, f+above)
			require.NoError(t, err)
			require.InDelta(t, above, superheat, 1e-9, name)
			bubble, err := table.BubblePressure(f)
			require.NoError(t, err)
			subcooling, err := table.Subcooling(bubble, f-above)
			require.NoError(t, err)
			require.InDelta(t, above, subcooling, 1e-9, name)
		}
	})
}

func TestAltitudeLowersTheTemperatureBehindAGauge(t *testing.T) {
	t.Parallel()
	byName := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		psig := rapid.Float64Range(30, 400).Draw(t, "psig")
		high := rapid.Float64Range(10, 14.6).Draw(t, "atmosphere")
		for name, table := range byName {
			at := func(atmosphere float64) float64 {
				psia, err := refrigerant.Absolute(psig, atmosphere)
				require.NoError(t, err)
				require.InDelta(t, psig, refrigerant.Gauge(psia, atmosphere), 1e-9)
				f, err := table.DewTemperature(psia)
				require.NoError(t, err)
				return f
			}
			require.Less(t, at(high), at(refrigerant.StandardAtmosphere), name)
		}
	})
}

// TestAnyTableIsReadAsItStands: rows at any distance, found by the grid or past it.
func TestAnyTableIsReadAsItStands(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		r := &knowledge.Refrigerant{Name: "R-0"}
		f, psig := -60.0, -5.0
		for range rapid.IntRange(2, 30).Draw(t, "rows") {
			r.Table = append(r.Table, [3]float64{f, psig, psig})
			f += rapid.Float64Range(0.001, 20).Draw(t, "°F")
			psig += rapid.Float64Range(0.01, 50).Draw(t, "psi")
		}
		table, err := refrigerant.New(r)
		require.NoError(t, err)
		for _, row := range r.Table {
			at, err := table.DewTemperature(row[2] + refrigerant.StandardAtmosphere)
			require.NoError(t, err)
			require.InDelta(t, row[0], at, 1e-9)
			require.InDelta(t, row[1], table.Bubble(row[0]), 1e-9)
		}
	})
}
