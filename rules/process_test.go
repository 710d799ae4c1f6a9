package rules_test

import (
	"maps"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

// running is a machine with its air seen to: filter and coils clean, both fans and
// the compressor turning.
func running(more ...rules.Item) []rules.Item {
	return slices.Concat([]rules.Item{
		seen("compressor", "running"), seen("outdoor-fan", "running"), seen("blower", "running"),
		seen("filter", "clean"), seen("evaporator-coil", "clean"), seen("condenser-coil", "clean"),
		read("capacitance/fan-capacitor", knowledge.DeEnergised, 5), read("capacitance/blower-capacitor", knowledge.DeEnergised, 7.5),
	}, more)
}

func seen(subject, state string) rules.Item {
	return rules.Item{Subject: subject, Seen: state, State: knowledge.Calling}
}

func read(id knowledge.ReadingID, state string, v float64) rules.Item {
	return rules.Item{Reading: id, State: state, Value: v, Low: v, High: v}
}

func calling(id knowledge.ReadingID, v float64) rules.Item { return read(id, knowledge.Calling, v) }

// told is an R-410A machine with a valve on a day of 95 °F.
func told(more map[string]string) map[string]string {
	out := map[string]string{
		"refrigerant": "R-410A", "metering-device": "txv", "outdoor-temperature": "95", "return-temperature": "76",
		"target-subcooling": "10", "target-superheat": "12",
	}
	maps.Copy(out, more)
	return out
}

func diagnose(t *testing.T, facts map[string]string, evidence []rules.Item) *rules.Diagnosis {
	t.Helper()
	base, _ := splitCooling(t)
	m, err := rules.Compile(base, "split-cooling", facts)
	require.NoError(t, err)
	return m.Diagnose(&rules.Situation{Facts: facts, Evidence: evidence, State: knowledge.Calling})
}

// lowCharge is what a machine short of refrigerant shows: starved, and little liquid.
func lowCharge() []rules.Item {
	return []rules.Item{
		calling("pressure/suction", 100), calling("pressure/liquid", 345), calling("superheat/system", 27),
		calling("subcooling/system", 1), calling("temperature-split/coil", 12), seen("oil-stain", "present"),
	}
}

func TestTwoSignsWithTheAirSettledCallLowCharge(t *testing.T) {
	t.Parallel()
	d := diagnose(t, told(nil), running(lowCharge()...))
	require.NotNil(t, d.Call, "suspects %v", d.Suspects)
	require.Equal(t, "refrigerant/undercharge", d.Call.Fault)
}

func TestChargeIsNotCalled(t *testing.T) {
	t.Parallel()
	without := func(subject string) []rules.Item {
		return slices.DeleteFunc(running(lowCharge()...), func(it rules.Item) bool { return it.Subject == subject })
	}
	tests := map[string]struct {
		facts    map[string]string
		evidence []rules.Item
	}{
		"on one sign":                          {told(nil), running(calling("subcooling/system", 1), seen("oil-stain", "present"))},
		"before the filter is seen":            {told(nil), without("filter")},
		"before the indoor coil is seen":       {told(nil), without("evaporator-coil")},
		"over an iced coil":                    {told(nil), append(without("evaporator-coil"), seen("evaporator-coil", "iced"))},
		"with the blower slow":                 {told(nil), append(without("blower"), seen("blower", "slow"))},
		"below 55 °F outside":                  {told(map[string]string{"outdoor-temperature": "48"}), running(lowCharge()...)},
		"below 70 °F in the return":            {told(map[string]string{"return-temperature": "64"}), running(lowCharge()...)},
		"by a metering device nobody has told": {func() map[string]string { f := told(nil); delete(f, "metering-device"); return f }(), running(lowCharge()...)},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := diagnose(t, c.facts, c.evidence)
			if d.Call != nil {
				require.NotContains(t, d.Call.Fault, "refrigerant/", "probability %.2f", d.Call.Probability)
			}
		})
	}
}

// TestOneReadingTellsTwoApart: everything else the same, the reading the trade goes
// by decides between two faults that look alike.
func TestOneReadingTellsTwoApart(t *testing.T) {
	t.Parallel()
	full := running(calling("pressure/suction", 124), calling("pressure/liquid", 475), calling("superheat/system", 11),
		calling("subcooling/system", 22), calling("temperature-split/coil", 18))
	starved := running(calling("pressure/suction", 98), calling("pressure/liquid", 340), calling("superheat/system", 24),
		calling("temperature-split/coil", 14), seen("oil-stain", "absent"))
	with := func(all []rules.Item, more ...rules.Item) []rules.Item { return slices.Concat(all, more) }
	tests := map[string]struct {
		evidence []rules.Item
		leads    string
	}{
		"at rest at the air's saturation, too much charge":             {with(full, read("pressure/liquid", knowledge.Standing, 295)), "refrigerant/overcharge"},
		"at rest above it, air in the system":                          {with(full, read("pressure/liquid", knowledge.Standing, 350)), "refrigerant/non-condensables"},
		"starved without liquid, low charge":                           {with(starved, calling("subcooling/system", 2)), "refrigerant/undercharge"},
		"starved with liquid and a drop at the drier, a restriction":   {with(starved, calling("subcooling/system", 17), calling("temperature-drop/liquid-line", 10)), "liquid-line/restricted"},
		"starved with liquid and no drop, the metering device":         {with(starved, calling("subcooling/system", 17), calling("temperature-drop/liquid-line", 0.5)), "metering-device/underfeeding"},
		"low suction with a wide split and a strangled filter, air":    {running(calling("pressure/suction", 95), calling("temperature-split/coil", 26), seen("filter", "dirty"), calling("static-pressure/filter-drop", 0.45)), "filter/clogged"},
		"a head far over the air with no liquid behind it, the coil's": {running(calling("pressure/liquid", 495), calling("subcooling/system", 10), seen("condenser-coil", "dirty")), "condenser/fouled"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := diagnose(t, told(nil), c.evidence)
			require.Equal(t, c.leads, d.Suspects[0].Fault, "suspects %v", d.Suspects)
		})
	}
}

// TestAStandingPressureLeavesTheRunningOneStanding: what was made of the running
// pressure is not lost when the standing one comes in.
func TestAStandingPressureLeavesTheRunningOneStanding(t *testing.T) {
	t.Parallel()
	ran := running(calling("pressure/liquid", 475), calling("temperature/liquid-line", 100))
	has := func(d *rules.Diagnosis) bool {
		return slices.ContainsFunc(d.Evidence, func(it rules.Item) bool { return it.Reading == "subcooling/system" })
	}
	require.True(t, has(diagnose(t, told(nil), ran)))
	require.True(t, has(diagnose(t, told(nil), append(ran, read("pressure/liquid", knowledge.Standing, 295)))))
}

func TestALineTemperatureAloneSaysNothing(t *testing.T) {
	t.Parallel()
	for _, id := range []knowledge.ReadingID{"temperature/suction-line", "temperature/liquid-line", "temperature/supply-air"} {
		for _, v := range []float64{20, 55, 78} {
			want := diagnose(t, told(nil), running()).Suspects
			got := diagnose(t, told(nil), running(calling(id, v))).Suspects
			require.Equal(t, want, got, "%s of %g", id, v)
		}
	}
}

func TestADischargeTemperatureAloneTipsNothing(t *testing.T) {
	t.Parallel()
	for _, v := range []float64{140, 180, 225} {
		d := diagnose(t, told(nil), running(calling("temperature/discharge-line", v)))
		require.Nil(t, d.Call, "%g °F", v)
		require.Less(t, d.Suspects[0].Probability, 0.8, "%g °F: %v", v, d.Suspects)
	}
}

func TestNoSuperheatIsMadeOfARefrigerantNobodyHasTold(t *testing.T) {
	t.Parallel()
	raw := running(calling("pressure/suction", 69), calling("temperature/suction-line", 52))
	facts := told(nil)
	delete(facts, "refrigerant")
	for _, it := range diagnose(t, facts, raw).Evidence {
		require.NotEqual(t, knowledge.ReadingID("superheat/system"), it.Reading)
	}
	facts["refrigerant"] = "R-22"
	made := diagnose(t, facts, raw).Evidence
	require.Equal(t, knowledge.ReadingID("superheat/system"), made[len(made)-1].Reading)
	require.InDelta(t, 11.3, made[len(made)-1].Value, 1, "R-22 at 69 psig is near 41 °F")
}

func TestACompressorIsNotCondemnedBeforeChargeAndMeteringAreSettled(t *testing.T) {
	t.Parallel()
	weak := []rules.Item{calling("pressure/suction", 160), calling("pressure/liquid", 330), calling("temperature-split/coil", 8)}
	d := diagnose(t, told(nil), running(weak...))
	require.Nil(t, d.Call)
	require.NotNil(t, d.Ask)
	d = diagnose(t, told(nil), running(append(weak, calling("superheat/system", 1), calling("subcooling/system", 5))...))
	if d.Call != nil {
		require.NotEqual(t, "compressor/valves-leaking", d.Call.Fault, "a flooded suction is the metering device's first")
	}
	d = diagnose(t, told(nil), running(append(weak, calling("superheat/system", 12), calling("subcooling/system", 5))...))
	require.Equal(t, "compressor/valves-leaking", d.Suspects[0].Fault, "suspects %v", d.Suspects)
	base, _ := splitCooling(t)
	require.True(t, base.Faults["compressor/valves-leaking"].NeedsConfirmation)
}
