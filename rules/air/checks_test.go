package air_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/rules/air"
	"proveout/rules/target"
)

func TestAirThatCannotBeIsRefusedWithTheRangeAndTheMend(t *testing.T) {
	t.Parallel()
	const sea = air.StandardPressure
	for mend, of := range map[string]func() error{
		"wet bulb 80 °F is outside 45.93 to 75 °F; a wet bulb is never above": func() error { _, err := air.FromWetBulb(75, 80, sea); return err },
		"wet the wick":             func() error { _, err := air.FromWetBulb(100, 40, sea); return err },
		"were the two swapped?":    func() error { _, err := air.FromDewPoint(60, 61, sea); return err },
		"give per cent":            func() error { _, err := air.FromHumidity(75, 101, sea); return err },
		"check the reading":        func() error { _, err := air.FromHumidity(500, 50, sea); return err },
		"water boils":              func() error { _, err := air.FromHumidity(212, 50, sea); return err },
		"local atmosphere":         func() error { _, err := air.FromHumidity(75, 50, 0); return err },
		"holds no more water":      func() error { _, err := air.FromRatio(75, 0.03, sea); return err },
		"feet above the sea":       func() error { _, err := air.Atmosphere(40000); return err },
		"check the reading and":    func() error { _, err := air.SaturationPressure(-200); return err },
		"out of sight":             func() error { _, err := air.AirflowFromElectricHeat(1000, 0, sea); return err },
		"with the heat on":         func() error { _, err := air.AirflowFromHeat(0, 30, sea); return err },
		"is the machine heating?":  func() error { _, err := air.Difference(57, 75); return err },
		"without their signs":      func() error { _, err := checks(t).Static(-0.5, 0.5); return err },
		"never above the dry bulb": func() error { _, err := checks(t).Split(75, 76, 57); return err },
	} {
		err := of()
		var outside *air.RangeError
		require.ErrorAs(t, err, &outside, mend)
		require.ErrorContains(t, err, mend)
	}
}

func TestASplitIsHeldAgainstItsTarget(t *testing.T) {
	t.Parallel()
	for rule, c := range map[string]struct {
		supply float64
		place  target.Place
	}{
		"as it should be":               {57, target.Within},
		"just inside the tolerance":     {59.4, target.Within},
		"low: measure again":            {60, target.Below},
		"high: the airflow is low":      {53, target.Above},
		"none at all is a split, a low": {75, target.Below},
	} {
		s, err := checks(t).Split(75, 63, c.supply)
		require.NoError(t, err, rule)
		require.InDelta(t, 18.6, s.Target, 1e-9)
		require.InDelta(t, 75-c.supply-18.6, s.Difference, 1e-9)
		require.Equal(t, c.place, s.Place, rule)
		require.Equal(t, "from memory", s.Mark)
		require.Contains(t, s.Source, "RA3.2")
	}
}

func TestStaticPressureIsHeldAgainstTheRating(t *testing.T) {
	t.Parallel()
	require.InDelta(t, 0.62, air.TotalStatic(0.32, -0.30), 1e-12)
	for _, c := range []struct {
		total, rating float64
		strain        air.Strain
	}{
		{0.5, 0, air.Rated},
		{0.51, 0, air.Over},
		{0.8, 0, air.Over},
		{0.81, 0, air.Serious},
		{0.62, 0.7, air.Rated},
		{0.95, 0.9, air.Serious},
		{0.25, 0.2, air.Over},
	} {
		s, err := checks(t).Static(c.total, c.rating)
		require.NoError(t, err)
		require.Equal(t, c.strain, s.Strain, "%+v", c)
	}
	require.True(t, checks(t).EnoughAirflow(1000, 3))
	require.False(t, checks(t).EnoughAirflow(900, 3))
}

// TestTheTargetTableIsWhatWasHandedOver compares every cell with the file it was made
// from, and with a formula of four terms that fits it (within 0.063): the table is from
// memory, so that proves the copying and nothing else.
func TestTheTargetTableIsWhatWasHandedOver(t *testing.T) {
	t.Parallel()
	cells := 0
	for _, row := range rows(t, "target-temperature-split.csv") {
		dryBulb := number(t, row["return_db_f"])
		for wetBulb := 50.0; wetBulb <= 76; wetBulb++ {
			text := row[fmt.Sprintf("wb%g", wetBulb)]
			got, err := checks(t).TargetSplit(dryBulb, wetBulb)
			switch {
			case wetBulb > dryBulb:
				require.ErrorContains(t, err, "never above the dry bulb")
			case text == "":
				var none *target.NoTargetError
				require.ErrorAs(t, err, &none)
				continue
			default:
				require.NoError(t, err)
				require.InDelta(t, number(t, text), got, 1e-9)
			}
			require.InDelta(t, -70.001+0.54420*dryBulb+2.19571*wetBulb-0.022810*wetBulb*wetBulb, number(t, text), 0.064)
			cells++
		}
	}
	require.Equal(t, 357, cells)
}
