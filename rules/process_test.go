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

func TestAPressureNobodyPlacedIsTheRunningMachinesOrTheStandingOnes(t *testing.T) {
	t.Parallel()
	stateless := func(suction, liquid float64) []rules.Item {
		return []rules.Item{read("pressure/suction", "", suction), read("pressure/liquid", "", liquid)}
	}
	tests := map[string]struct {
		evidence []rules.Item
		state    string
	}{
		"seen running":         {append(stateless(60, 62), seen("compressor", "running")), knowledge.Calling},
		"held apart":           {stateless(118, 410), knowledge.Calling},
		"level":                {stateless(18, 18), knowledge.Standing},
		"seen off":             {append(stateless(100, 110), seen("compressor", "off")), knowledge.Standing},
		"off, and still apart": {append(stateless(118, 410), seen("compressor", "off")), ""},
		"neither":              {stateless(150, 180), ""},
	}
	_, m := splitCooling(t)
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := rules.Situation{Evidence: c.evidence}
			m.Settle(&s)
			require.Equal(t, c.state, s.Evidence[0].State)
		})
	}
}

func TestAPressureOfARunningMachineProvesNoLostCharge(t *testing.T) {
	t.Parallel()
	low := []rules.Item{read("pressure/suction", "", 70), read("voltage/across-low-pressure-switch", knowledge.Calling, 25)}
	d := diagnose(t, told(nil), low)
	require.Nil(t, d.Call, "70 psig may be a running suction")
	off := rules.Situation{Evidence: append(low, read("pressure/liquid", "", 70), seen("compressor", "off"))}
	_, m := splitCooling(t)
	m.Settle(&off)
	d = diagnose(t, told(nil), off.Evidence)
	require.NotNil(t, d.Call)
	require.Equal(t, "refrigerant/undercharge", d.Call.Fault)
}

// TestNothingWrongIsNotSaidOverReadingsNothingExplains: readings no sound machine
// shows and no fault fits are no reason to call the machine sound.
func TestNothingWrongIsNotSaidOverReadingsNothingExplains(t *testing.T) {
	t.Parallel()
	for name, odd := range map[string][]rules.Item{
		"no split, and liquid past counting": {calling("temperature-split/coil", 44), calling("subcooling/system", 60)},
		"cold discharge, hot suction":        {calling("temperature/discharge-line", 40), calling("superheat/system", 70)},
		"a gauge gone mad":                   {calling("pressure/suction", 390), calling("temperature-split/coil", 40)},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			d := diagnose(t, told(nil), running(odd...))
			if d.Call != nil {
				require.NotEqual(t, "none/normal", d.Call.Fault)
			}
			for _, s := range d.Suspects {
				require.False(t, s.Fault == "none/normal" && s.Probability > 0.3, "%v", d.Suspects)
			}
		})
	}
}

// TestReadingsThatCannotBeRightTogetherAreQuestionedAndNotUsed: of each set the
// question names the slip, and nothing read in it moves a suspect.
func TestReadingsThatCannotBeRightTogetherAreQuestionedAndNotUsed(t *testing.T) {
	t.Parallel()
	tests := map[string]struct {
		refrigerant string
		readings    []rules.Item
		doubt       string
	}{
		"liquid line far over condensing": {"R-410A", []rules.Item{calling("pressure/liquid", 410), calling("temperature/liquid-line", 150)}, "hot"},
		"suction above liquid":            {"R-22", []rules.Item{calling("pressure/suction", 220), calling("pressure/liquid", 70)}, "hoses"},
		"wet bulb above dry bulb":         {"R-410A", []rules.Item{calling("temperature/return-air", 75), calling("temperature/return-air-wet-bulb", 80)}, "bulbs"},
		"suction line under boiling":      {"R-454B", []rules.Item{calling("pressure/suction", 112), calling("temperature/suction-line", 15)}, "cold"},
		"probes swapped":                  {"R-410A", []rules.Item{calling("pressure/suction", 118), calling("pressure/liquid", 410), calling("temperature/suction-line", 100), calling("temperature/liquid-line", 60)}, "probes"},
		"kilopascals for pounds":          {"R-410A", []rules.Item{calling("pressure/suction", 813)}, "suction"},
		"kilopascals on both":             {"R-22", []rules.Item{calling("pressure/suction", 480), calling("pressure/liquid", 1500)}, "liquid"},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			facts := told(map[string]string{"refrigerant": c.refrigerant})
			base := running()
			d := diagnose(t, facts, append(base, c.readings...))
			require.NotEmpty(t, d.Doubts)
			require.Equal(t, c.doubt, d.Doubts[0].ID)
			used := slices.DeleteFunc(slices.Clone(c.readings), func(it rules.Item) bool { return slices.Contains(d.Doubts[0].Readings, it.Reading) })
			require.Equal(t, diagnose(t, facts, append(running(), used...)).Suspects, d.Suspects)
		})
	}
}
