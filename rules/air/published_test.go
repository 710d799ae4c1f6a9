package air_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/rules/air"
)

// state is the air a row's inputs describe.
func state(t *testing.T, in map[string]float64, pressure float64) air.Moist {
	t.Helper()
	var m air.Moist
	var err error
	switch {
	case has(in, "wb"):
		m, err = air.FromWetBulb(in["db"], in["wb"], pressure)
	case has(in, "W"):
		m, err = air.FromRatio(in["db"], in["W"], pressure)
	case has(in, "t"):
		m, err = air.FromHumidity(in["t"], 100, pressure)
	default:
		m, err = air.FromHumidity(in["db"], 0, pressure)
	}
	require.NoError(t, err)
	return m
}

func has(in map[string]float64, name string) bool { _, ok := in[name]; return ok }

// quantities are the columns of the published checks.
var quantities = map[string]func(*testing.T, map[string]float64, air.Moist) float64{
	"saturation_vapor_pressure": func(t *testing.T, in map[string]float64, _ air.Moist) float64 {
		p, err := air.SaturationPressure(in["t"])
		require.NoError(t, err)
		return p
	},
	"standard_pressure": func(t *testing.T, in map[string]float64, _ air.Moist) float64 {
		p, err := air.Atmosphere(in["z"])
		require.NoError(t, err)
		return p
	},
	"saturation_humidity_ratio": func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Ratio },
	"humidity_ratio":            func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Ratio },
	"saturated_enthalpy":        func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Enthalpy() },
	"moist_air_enthalpy":        func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Enthalpy() },
	"dry_air_enthalpy":          func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Enthalpy() },
	"moist_air_volume":          func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Volume() },
	"dry_air_volume":            func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Volume() },
	"relative_humidity":         func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.Humidity() / 100 },
	"dew_point":                 func(_ *testing.T, _ map[string]float64, m air.Moist) float64 { return m.DewPoint() },
}

// TestPublishedPsychrometrics goes through psychrometric-checks.csv row by row; each
// names its source.
func TestPublishedPsychrometrics(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "psychrometric-checks.csv") {
		quantity, ok := quantities[row["quantity"]]
		require.True(t, ok, row["quantity"])
		in := inputs(t, row["input"])
		var m air.Moist
		if pressure := row["pressure_psia"]; pressure != "" {
			m = state(t, in, number(t, pressure))
		} else if has(in, "db") {
			m = state(t, in, air.StandardPressure)
		}
		want := number(t, row["value"])
		kind, size, _ := strings.Cut(row["tolerance"], " ")
		slack := number(t, size)
		if kind == "rel" {
			slack *= math.Abs(want)
		}
		require.InDelta(t, want, quantity(t, in, m), slack, "%s at %s (%s)", row["quantity"], row["input"], row["source"])
	}
}

// TestFactorsByAltitude goes through altitude-factors.csv; its last places are
// rounded.
func TestFactorsByAltitude(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "altitude-factors.csv") {
		p, err := air.Atmosphere(number(t, row["altitude_ft"]))
		require.NoError(t, err)
		require.InDelta(t, number(t, row["pressure_psia"]), p, 0.0006)
		require.InDelta(t, number(t, row["density_ratio"]), p/air.StandardPressure, 0.0006)
		require.InDelta(t, number(t, row["sensible_factor"]), air.SensibleFactor(p), 0.0006)
		require.InDelta(t, number(t, row["total_factor"]), air.TotalFactor(p), 0.006)
	}
}

// TestHeatAndAirflowWorkedByHand goes through heat-checks.csv, rounded to whole
// figures.
func TestHeatAndAirflowWorkedByHand(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "heat-checks.csv") {
		in := inputs(t, strings.ReplaceAll(row["inputs"], "rise ", ""))
		var got float64
		switch row["check"] {
		case "airflow from electric heat":
			var err error
			got, err = air.AirflowFromElectricHeat(1000*in["kW"], in["F"], air.StandardPressure)
			require.NoError(t, err)
		case "sensible heat":
			got = air.SensibleHeat(in["cfm"], in["F"], air.StandardPressure)
		default:
			require.Fail(t, "no such check", row["check"])
		}
		require.InDelta(t, number(t, row["value"]), got, 0.51, "%s of %s (%s)", row["check"], row["inputs"], row["source"])
	}
}
