package machine_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// loaded is a unit with something across the 24 V line that the contactor switches
// on with itself; %s is its ohms.
func loaded(t *testing.T, ohms string) *machine.Machine {
	t.Helper()
	base := overlaid(t, "equipment/loaded.yaml", `
loaded:
  name: a contactor that loads its own feed
  extends: split-cooling
  source: common practice
  components:
    - {id: extra-load, kind: contact, name: extra load, nodes: [y-od, c-od], values: {ohms: `+ohms+`}, closed: [{energised: contactor-coil}], place: outdoor}
`)
	m, err := machine.New(base, "loaded", nil)
	require.NoError(t, err)
	return m
}

func TestACoilPulledInHoldsDownToItsDropOut(t *testing.T) {
	t.Parallel()
	b, err := loaded(t, "60").Run(modes("transformer", "weak"))
	require.NoError(t, err)
	p := b.Phases[knowledge.Calling][0]
	require.True(t, p.On("contactor-coil"))
	v := real(p.Voltage("coil-in", "c-od"))
	require.Less(t, v, 18.0, "it would not pull in again")
	require.Greater(t, v, 9.0)
}

func TestACoilSaggingBelowItsDropOutChatters(t *testing.T) {
	t.Parallel()
	_, err := loaded(t, "8").Run(modes("transformer", "weak"))
	require.ErrorContains(t, err, "contactor-coil")
	require.ErrorContains(t, err, "extra-load")
}

func TestAMotorKeepsTurningOnLessThanItTakesToStart(t *testing.T) {
	t.Parallel()
	base := overlaid(t, "equipment/stiff.yaml", `
stiff:
  name: a compressor that needs its inrush to start
  extends: split-cooling
  source: common practice
  components:
    - {id: compressor, starts: [{amps: compressor-run-winding, at-least: 20}]}
`)
	p := settled(t, base, "stiff", nil, machine.Setting{}).last(knowledge.Calling)
	require.True(t, p.On("compressor"))
	require.Less(t, real(p.Current("compressor-run-winding")), 20.0)
}

// TestConditionsOfASettledPhase asks a phase what observations ask of it.
func TestConditionsOfASettledPhase(t *testing.T) {
	t.Parallel()
	seized := modes("compressor", "seized")
	for _, c := range []struct {
		rule    string
		setting machine.Setting
		state   string
		phase   int
		atom    knowledge.Atom
		want    bool
	}{
		{"a seized compressor hums", seized, knowledge.Calling, 0, knowledge.Atom{Stalled: "compressor"}, true},
		{"a tripped one is silent", seized, knowledge.Calling, 1, knowledge.Atom{Stalled: "compressor"}, false},
		{"a running one does not hum", machine.Setting{}, knowledge.Calling, 0, knowledge.Atom{Stalled: "compressor"}, false},
		{"nor does one at rest", machine.Setting{}, knowledge.Standing, 0, knowledge.Atom{Stalled: "compressor"}, false},
		{"the overload has tripped", seized, knowledge.Calling, 1, knowledge.Atom{Tripped: "compressor-overload"}, true},
		{"not before", seized, knowledge.Calling, 0, knowledge.Atom{Tripped: "compressor-overload"}, false},
		{"the mode is known", seized, knowledge.Standing, 0, knowledge.Atom{Mode: map[string]string{"compressor": "seized"}}, true},
		{"the contactor is in", seized, knowledge.Calling, 0, knowledge.Atom{Energised: "contactor-coil"}, true},
		{"the blower turns", seized, knowledge.Calling, 0, knowledge.Atom{Running: "blower"}, true},
		{"the compressor does not", seized, knowledge.Calling, 0, knowledge.Atom{Stopped: "compressor"}, true},
		{"volts within bounds", seized, knowledge.Calling, 0, knowledge.Atom{Volts: []string{"t1", "t2"}, AtLeast: &knowledge.Figure{Value: 200}}, true},
		{"volts out of bounds", seized, knowledge.Calling, 0, knowledge.Atom{Volts: []string{"t1", "t2"}, AtMost: &knowledge.Figure{Value: 200}}, false},
		{"one of two is enough", seized, knowledge.Calling, 0, knowledge.Atom{Any: knowledge.Condition{{Running: "compressor"}, {Running: "blower"}}}, true},
	} {
		t.Run(c.rule, func(t *testing.T) {
			t.Parallel()
			s := settle(t, nil, c.setting)
			holds, err := s.m.Condition(knowledge.Condition{c.atom})
			require.NoError(t, err)
			require.Equal(t, c.want, holds(s.b.Phases[c.state][c.phase]))
		})
	}
}

func TestAConditionThatNamesNothingIsRefused(t *testing.T) {
	t.Parallel()
	m := settle(t, nil, machine.Setting{}).m
	for says, atom := range map[string]knowledge.Atom{
		"says nothing":   {},
		"ghost":          {Running: "ghost"},
		"attic":          {Volts: []string{"attic", "ground"}, AtLeast: &knowledge.Figure{Value: 1}},
		"no bound":       {Amps: "control-fuse"},
		"no mode":        {Mode: map[string]string{"control-fuse": "melted"}},
		"two nodes":      {Volts: []string{"t1"}, AtLeast: &knowledge.Figure{Value: 1}},
		"with a current": {Amps: "compressor", AtLeast: &knowledge.Figure{Value: 1}},
	} {
		_, err := m.Condition(knowledge.Condition{atom})
		require.ErrorContains(t, err, says)
	}
}

// TestAPhantomIsForeseenOnlyWhereAWireHangsLoose: behind an open conductor a meter
// of ten megohms may show a stray; on a low source or with the power off it may not.
func TestAPhantomIsForeseenOnlyWhereAWireHangsLoose(t *testing.T) {
	t.Parallel()
	phantom := func(s *seen, state string, id knowledge.ReadingID) float64 {
		meter, err := s.m.Meter(id, s.m.Base().Measurements[id])
		require.NoError(t, err)
		return meter.Read(s.last(state)).Phantom
	}
	good, open := settle(t, nil, machine.Setting{}), settle(t, nil, modes("cable-y", "open", "contactor-coil", "open"))
	require.Zero(t, phantom(good, knowledge.Calling, "voltage/y-outdoor"))
	require.Positive(t, phantom(open, knowledge.Calling, "voltage/y-outdoor"))
	require.Zero(t, phantom(open, knowledge.DeEnergised, "voltage/y-outdoor"))
	require.Zero(t, phantom(open, knowledge.Calling, "voltage/y-indoor"))
	line := settle(t, nil, modes("breaker-l1", "open", "contactor-pole-1", "stuck-open"))
	require.Greater(t, phantom(line, knowledge.Calling, "voltage/l1-ground"), phantom(open, knowledge.Calling, "voltage/y-outdoor"), "a line wire strays further")
}

// TestEffectsMoveThePressures: a saturation is moved in °F, a pressure is set in
// psig, and only while the effect's condition holds.
func TestEffectsMoveThePressures(t *testing.T) {
	t.Parallel()
	ten, running := -10.0, knowledge.Condition{{Running: "compressor"}}
	good := settle(t, nil, machine.Setting{})
	low := settle(t, nil, machine.Setting{Effects: []knowledge.Effect{{On: "pressure/suction", When: running, Add: &ten}}})
	read := func(s *seen, state string) float64 { return s.read(s.last(state), "pressure/suction") }
	require.InDelta(t, 120.65, read(good, knowledge.Calling), 0.1, "R-410A dew at 41 °F")
	require.InDelta(t, 99.04, read(low, knowledge.Calling), 0.1, "R-410A dew at 31 °F")
	require.InDelta(t, read(good, knowledge.Standing), read(low, knowledge.Standing), 1e-9)
}
