package air_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/rules/air"
)

// draw is any air a person could meet.
func draw(t *rapid.T) air.Moist {
	pressure, err := air.Atmosphere(rapid.Float64Range(-200, 10000).Draw(t, "ft"))
	require.NoError(t, err)
	m, err := air.FromHumidity(rapid.Float64Range(-20, 130).Draw(t, "°F"), rapid.Float64Range(1, 100).Draw(t, "%"), pressure)
	require.NoError(t, err)
	return m
}

func TestAStateIsTheSameByHumidityRatioDewPointAndWetBulb(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := draw(t)
		again, err := air.FromHumidity(m.DryBulb, min(m.Humidity(), 100), m.Pressure)
		require.NoError(t, err)
		require.InEpsilon(t, m.Ratio, again.Ratio, 1e-9)
		again, err = air.FromDewPoint(m.DryBulb, m.DewPoint(), m.Pressure)
		require.NoError(t, err)
		require.InEpsilon(t, m.Ratio, again.Ratio, 1e-6)
		wetBulb := m.WetBulb()
		again, err = air.FromWetBulb(m.DryBulb, wetBulb, m.Pressure)
		require.NoError(t, err)
		// At 32 °F the bulb's ratio leaps from wet to iced. The handbook's equation of an
		// iced bulb is off by up to 1.1e-4 in saturated air.
		if math.Abs(wetBulb-32) > 1e-3 {
			require.InDelta(t, m.Ratio, again.Ratio, 1e-8+1.2e-4*m.Ratio)
		}
	})
}

func TestDewPointWetBulbAndDryBulbStandInThatOrder(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := draw(t)
		require.LessOrEqual(t, m.DewPoint(), m.WetBulb()+1e-6)
		require.LessOrEqual(t, m.WetBulb(), m.DryBulb)
	})
}

func TestSaturatedAirHasOneTemperature(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := draw(t)
		s, err := air.FromHumidity(m.DryBulb, 100, m.Pressure)
		require.NoError(t, err)
		require.InDelta(t, s.DryBulb, s.DewPoint(), 1e-5)
		require.InDelta(t, s.DryBulb, s.WetBulb(), 1e-4)
		require.InDelta(t, 100, s.Humidity(), 1e-9)
	})
}

func TestMoreWaterRaisesEverything(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		m := draw(t)
		wetter, err := air.FromHumidity(m.DryBulb, 100, m.Pressure)
		require.NoError(t, err)
		more, err := air.FromRatio(m.DryBulb, m.Ratio+(wetter.Ratio-m.Ratio)*0.5, m.Pressure)
		require.NoError(t, err)
		require.GreaterOrEqual(t, more.Humidity(), m.Humidity())
		require.GreaterOrEqual(t, more.DewPoint(), m.DewPoint()-1e-6)
		require.GreaterOrEqual(t, more.Enthalpy(), m.Enthalpy())
		require.GreaterOrEqual(t, more.Volume(), m.Volume())
		// Between an iced and a wet bulb the wet bulb may step back.
		if m.WetBulb() > 33 || more.WetBulb() < 31 {
			require.GreaterOrEqual(t, more.WetBulb(), m.WetBulb()-1e-5)
		}
	})
}

func TestHigherIsThinner(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		feet := rapid.Float64Range(-1000, 12000).Draw(t, "ft")
		low, err := air.Atmosphere(feet)
		require.NoError(t, err)
		high, err := air.Atmosphere(feet + 1)
		require.NoError(t, err)
		require.Less(t, high, low)
		require.Less(t, air.SensibleFactor(high), air.SensibleFactor(low))
	})
}

func TestAirflowIsWhatCarriesTheHeat(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		watts, rise := rapid.Float64Range(1000, 20000).Draw(t, "W"), rapid.Float64Range(5, 70).Draw(t, "°F")
		pressure := rapid.Float64Range(10, 15).Draw(t, "psia")
		cfm, err := air.AirflowFromElectricHeat(watts, rise, pressure)
		require.NoError(t, err)
		require.InEpsilon(t, watts*3.413, air.SensibleHeat(cfm, rise, pressure), 1e-9)
	})
}
