package electric_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
	"proveout/rules/electric"
	"proveout/rules/target"
)

var open = math.Inf(1)

func TestACapacitorIsHeldAgainstItsMarking(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule      string
		measured  float64
		tolerance electric.Tolerance
		place     target.Place
	}{
		{"as marked", 45, electric.Tolerance{}, target.Within},
		{"weak", 38, electric.Tolerance{}, target.Below},
		{"open", 0, electric.Tolerance{}, target.Below},
		{"too near the edge for two meters to tell", 42, electric.Tolerance{}, target.Edge},
		{"the marking's own tolerance wins", 42.5, electric.Tolerance{Minus: 10, Plus: 10}, target.Within},
		{"marked without a minus", 44, electric.Tolerance{Plus: 6}, target.Edge},
		{"over", 55, electric.Tolerance{}, target.Above},
	} {
		got, err := checks(t).Capacitor(c.measured, 45, c.tolerance)
		require.NoError(t, err)
		require.Equal(t, c.place, got.Place, c.rule)
		require.InDelta(t, 100*(c.measured-45)/45, got.Share, 1e-9)
	}
}

func TestWindingsTellWhatIsOpen(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		rule       string
		cs, cr, rs float64
		state      electric.WindingState
	}{
		{"they add up", 2.4, 0.8, 3.2, electric.WindingsSound},
		{"within leads and meter", 2.4, 0.8, 3.4, electric.WindingsSound},
		{"they do not", 2.4, 0.8, 2.2, electric.SumOff},
		{"run and start named the wrong way round", 0.8, 2.4, 3.2, electric.Mislabelled},
		{"the sum between other terminals", 3.2, 0.8, 2.4, electric.Mislabelled},
		{"overload", open, open, 3.2, electric.OverloadOpen},
		{"run", 2.4, open, open, electric.RunOpen},
		{"start", open, 0.8, open, electric.StartOpen},
		{"all", open, open, open, electric.AllOpen},
		{"what windings cannot do", 2.4, 0.8, open, electric.Unlikely},
		{"nor this", open, 0.8, 3.2, electric.Unlikely},
	} {
		state, off, err := checks(t).Windings(electric.Windings{CommonStart: c.cs, CommonRun: c.cr, RunStart: c.rs})
		require.NoError(t, err)
		require.Equal(t, c.state, state, c.rule)
		if !math.IsInf(c.cs+c.cr+c.rs, 1) {
			require.InDelta(t, c.cs+c.cr-c.rs, off, 1e-9)
		}
	}
}

func TestWhichPairIsWhichDoesNotDependOnTheOrder(t *testing.T) {
	t.Parallel()
	c := checks(t)
	rapid.Check(t, func(t *rapid.T) {
		run := rapid.Float64Range(0.3, 2).Draw(t, "C–R")
		start := run + rapid.Float64Range(0.3, 4).Draw(t, "C–S less C–R")
		given := []float64{run, start, run + start}
		order := rapid.Permutation([]int{0, 1, 2}).Draw(t, "order")
		p, err := c.Identify(given[order[0]], given[order[1]], given[order[2]])
		require.NoError(t, err)
		require.Equal(t, [3]float64{run, start, run + start}, [3]float64{p.Run, p.Start, p.Both})
		require.Equal(t, [3]int{0, 1, 2}, [3]int{order[p.RunAt], order[p.StartAt], order[p.BothAt]})
		require.True(t, p.Sums)
		require.False(t, p.Alike)
		state, _, err := c.Windings(electric.Windings{CommonStart: p.Start, CommonRun: p.Run, RunStart: p.Both})
		require.NoError(t, err)
		require.Equal(t, electric.WindingsSound, state)
	})
}

func TestWindingsTooAlikeAreNotNamed(t *testing.T) {
	t.Parallel()
	p, err := checks(t).Identify(1.5, 1.5, 1.5)
	require.NoError(t, err)
	require.True(t, p.Alike)
	require.False(t, p.Sums)
	require.ElementsMatch(t, []int{0, 1, 2}, []int{p.RunAt, p.StartAt, p.BothAt})
	_, err = checks(t).Identify(1.5, open, 1.5)
	require.ErrorContains(t, err, "all three pairs must read")
}

func TestInsulationFallsBandByBand(t *testing.T) {
	t.Parallel()
	for ohm, want := range map[float64]electric.Insulation{
		open: electric.InsulationGood, 1.5e8: electric.InsulationGood, 5e7: electric.InsulationWatch, 2e7: electric.InsulationWatch,
		1e7: electric.InsulationDry, 1e6: electric.InsulationPoor, 4e5: electric.Grounded, 0: electric.Grounded,
	} {
		got, err := checks(t).Ground(ohm)
		require.NoError(t, err)
		require.Equal(t, want, got, ohm)
	}
}

func TestImbalanceIsTheLargestDeviationOverTheMean(t *testing.T) {
	t.Parallel()
	i, err := checks(t).Imbalance(240, 236, 225)
	require.NoError(t, err)
	require.InDelta(t, 233.667, i.Mean, 1e-3)
	require.Equal(t, 2, i.Worst)
	require.InDelta(t, 3.709, i.Share, 1e-3)
	require.Equal(t, electric.Uneven, i.Balance)
	for share, want := range map[float64]electric.Balance{0: electric.Even, 2: electric.Even, 10: electric.Uneven, 30: electric.Excessive} {
		i, err := checks(t).Imbalance(230, 230, 230-share)
		require.NoError(t, err)
		require.Equal(t, want, i.Balance, share)
	}
}

func TestImbalanceDependsOnNeitherOrderNorScale(t *testing.T) {
	t.Parallel()
	c := checks(t)
	rapid.Check(t, func(t *rapid.T) {
		volts := rapid.Float64Range(150, 500)
		a, b, third := volts.Draw(t, "a"), volts.Draw(t, "b"), volts.Draw(t, "c")
		i, err := c.Imbalance(a, b, third)
		require.NoError(t, err)
		turned, err := c.Imbalance(third, a, b)
		require.NoError(t, err)
		double, err := c.Imbalance(2*a, 2*b, 2*third)
		require.NoError(t, err)
		require.InDelta(t, i.Share, turned.Share, 1e-9)
		require.InDelta(t, i.Share, double.Share, 1e-9)
	})
}

func TestLegsAreComparedToGround(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		l1, l2 float64
		want   electric.Balance
	}{{121, 120, electric.Even}, {124, 116, electric.Uneven}, {121, 4, electric.LostLeg}, {0, 121, electric.LostLeg}} {
		l, err := checks(t).Legs(c.l1, c.l2)
		require.NoError(t, err)
		require.Equal(t, c.want, l.Balance)
	}
}

func TestADropIsASetShareOfTheVoltageBefore(t *testing.T) {
	t.Parallel()
	d, err := checks(t).Drop(240, 210)
	require.NoError(t, err)
	require.InDelta(t, 12.5, d.Share, 1e-9)
	require.True(t, d.Much)
	d, err = checks(t).Drop(240, 225)
	require.NoError(t, err)
	require.False(t, d.Much)
	require.InDelta(t, 2.4, electric.DropAlong(24, 0.1), 1e-12)
}

func TestATransformerIsLoadedByVoltsTimesAmps(t *testing.T) {
	t.Parallel()
	l, err := electric.TransformerLoad(40, 24, 2)
	require.NoError(t, err)
	require.InDelta(t, 120, l.Share, 1e-9)
	require.True(t, l.Over)
	l, err = electric.TransformerLoad(40, 24, 40.0/24)
	require.NoError(t, err)
	require.False(t, l.Over)
}

func TestAmpsAreHeldAgainstThePlate(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		amps, rated, locked float64
		want                electric.Pull
	}{
		{0, 15, 75, electric.Idle},
		{12, 15, 75, electric.Normal},
		{17, 15, 75, electric.Heavy},
		{70, 15, 75, electric.Locked},
		{70, 15, 0, electric.Heavy},
		{70, 0, 75, electric.Locked},
	} {
		a, err := checks(t).Amps(c.amps, c.rated, c.locked)
		require.NoError(t, err)
		require.Equal(t, c.want, a.Pull, "%+v", c)
	}
}

func TestWhatNoMeterShowsIsRefusedWithTheMend(t *testing.T) {
	t.Parallel()
	c := checks(t)
	for mend, of := range map[string]func() error{
		"own terminals":              func() error { _, err := electric.Capacitance(4, 0, 60); return err },
		"current -1 A is below 0 A":  func() error { _, err := electric.Capacitance(-1, 345, 60); return err },
		"give 60":                    func() error { _, err := electric.Capacitance(4, 345, 0); return err },
		"read it on the capacitor":   func() error { _, err := c.Capacitor(45, 0, electric.Tolerance{}); return err },
		"both leads off":             func() error { _, err := c.Capacitor(-1, 45, electric.Tolerance{}); return err },
		"leads lifted":               func() error { _, _, err := c.Windings(electric.Windings{CommonStart: -1}); return err },
		"bare metal":                 func() error { _, err := c.Ground(math.NaN()); return err },
		"line-to-line":               func() error { _, err := c.Imbalance(-1, 230, 230); return err },
		"is not above 0 V":           func() error { _, err := c.Imbalance(0, 0, 0); return err },
		"each leg":                   func() error { _, err := c.Legs(-1, 120); return err },
		"power on":                   func() error { _, err := c.Legs(0, 0); return err },
		"read it on the plate":       func() error { _, err := c.Supply(-230); return err },
		"same two points":            func() error { _, err := c.Drop(240, -1); return err },
		"measure with the power":     func() error { _, err := c.Drop(0, 0); return err },
		"read it on the transformer": func() error { _, err := electric.TransformerLoad(0, 24, 1); return err },
		"24 V as rated":              func() error { _, err := electric.TransformerLoad(40, 0, 1); return err },
		"one wire of the secondary":  func() error { _, err := electric.TransformerLoad(40, 24, -1); return err },
		"clamp one wire":             func() error { _, err := c.Amps(-1, 15, 75); return err },
		"RLA or LRA":                 func() error { _, err := c.Amps(10, 0, 0); return err },
	} {
		err := of()
		var outside *electric.RangeError
		require.ErrorAs(t, err, &outside, mend)
		require.ErrorContains(t, err, mend)
	}
	_, err := electric.NewChecks(&knowledge.Base{})
	require.ErrorContains(t, err, "no limit amps-locked")
}
