package machine_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// seen is a machine settled under some fault, to be asked what a person finds.
type seen struct {
	t *testing.T
	m *machine.Machine
	b *machine.Behaviour
}

func settle(t *testing.T, facts map[string]string, s machine.Setting) *seen {
	t.Helper()
	return settled(t, load(t), "split-cooling", facts, s)
}

func settled(t *testing.T, base *knowledge.Base, equipment string, facts map[string]string, s machine.Setting) *seen {
	t.Helper()
	m, err := machine.New(base, equipment, facts)
	require.NoError(t, err)
	b, err := m.Run(s)
	require.NoError(t, err)
	return &seen{t: t, m: m, b: b}
}

// last is the phase a technician most likely meets: after every trip.
func (s *seen) last(state string) *machine.Phase {
	s.t.Helper()
	phases := s.b.Phases[state]
	require.NotEmpty(s.t, phases)
	return phases[len(phases)-1]
}

func (s *seen) read(p *machine.Phase, id knowledge.ReadingID) float64 {
	s.t.Helper()
	k := s.m.Base().Measurements[id]
	require.NotNil(s.t, k, "no measurement %s", id)
	meter, err := s.m.Meter(id, k)
	require.NoError(s.t, err)
	require.NotNil(s.t, meter, "no meter for %s", id)
	return meter.Read(p).Value
}

func modes(pairs ...string) machine.Setting {
	s := machine.Setting{Modes: map[string]string{}}
	for i := 0; i < len(pairs); i += 2 {
		s.Modes[pairs[i]] = pairs[i+1]
	}
	return s
}

// TestTradeFacts states what every technician knows (common practice) of the
// machine after it has settled for good, on a call unless said otherwise.
func TestTradeFacts(t *testing.T) {
	t.Parallel()
	type want map[knowledge.ReadingID][2]float64 // reading → from, to
	live24, dead, live240, leg := [2]float64{24, 29}, [2]float64{0, 0.5}, [2]float64{230, 245}, [2]float64{110, 125}
	for _, c := range []struct {
		rule    string
		facts   map[string]string
		setting machine.Setting
		state   string
		on, off []string // coils and rotors
		open    []string // switches, fuses and contacts
		shut    []string
		reads   want
	}{
		{
			rule: "a sound machine on a call runs all three motors", state: knowledge.Calling,
			on: []string{"compressor", "outdoor-fan", "blower"}, shut: []string{"control-fuse", "low-pressure-switch"},
			reads: want{"voltage/contactor-coil": live24, "voltage/contactor-load": live240, "current/compressor-common": {12, 18}, "current/outdoor-fan": {1, 2}},
		},
		{
			rule: "a satisfied thermostat leaves the line side live and the load side dead", state: knowledge.Standing,
			off: []string{"compressor", "blower", "contactor-coil"}, reads: want{"voltage/contactor-line": live240, "voltage/contactor-load": dead, "voltage/transformer-secondary": live24},
		},
		{
			rule: "with the power off every point is dead", state: knowledge.DeEnergised,
			reads: want{"voltage/contactor-line": dead, "voltage/contactor-load": dead, "voltage/transformer-secondary": dead},
		},
		{
			rule: "a shorted contactor coil blows the control fuse", state: knowledge.Calling, setting: modes("contactor-coil", "shorted"),
			off: []string{"compressor", "blower"}, open: []string{"control-fuse"}, reads: want{"voltage/transformer-secondary": live24, "voltage/r-after-fuse": dead},
		},
		{
			rule: "a Y-C short in the cable blows the control fuse", state: knowledge.Calling, setting: modes("cable-insulation", "shorted"),
			off: []string{"compressor", "blower"}, open: []string{"control-fuse"},
		},
		{
			rule: "a blown control fuse stays open when the call ends", state: knowledge.Standing, setting: modes("contactor-coil", "shorted"),
			open: []string{"control-fuse"},
		},
		{
			rule: "an open contactor coil has its volts and does not pull in", state: knowledge.Calling, setting: modes("contactor-coil", "open"),
			on: []string{"blower"}, off: []string{"contactor-coil", "compressor", "outdoor-fan"}, reads: want{"voltage/contactor-coil": live24, "voltage/contactor-load": dead},
		},
		{
			rule: "a weak compressor capacitor ends with the overload open and no amps", state: knowledge.Calling, setting: modes("compressor-capacitor", "weak"),
			on: []string{"outdoor-fan", "contactor-coil"}, off: []string{"compressor"}, open: []string{"compressor-overload"}, reads: want{"current/compressor-common": dead},
		},
		{
			rule: "an open compressor overload reads open to C and closed R to S", state: knowledge.DeEnergised, setting: modes("compressor-overload", "open"),
			reads: want{"resistance/compressor-c-r": {math.Inf(1), math.Inf(1)}, "resistance/compressor-c-s": {math.Inf(1), math.Inf(1)}, "resistance/compressor-r-s": {2.5, 4}},
		},
		{
			rule: "a stopped outdoor fan ends with the high-pressure switch open", state: knowledge.Calling, setting: modes("fan-main", "open"),
			off: []string{"compressor", "outdoor-fan"}, on: []string{"blower"}, open: []string{"high-pressure-switch"},
		},
		{
			rule: "a low-pressure switch marked 50 is closed at a standing 295 psig", state: knowledge.Standing,
			facts: map[string]string{"low-pressure-cutout": "50", "outdoor-temperature": "95"}, shut: []string{"low-pressure-switch"}, reads: want{"pressure/suction": {294, 297}},
		},
		{
			rule: "a low-pressure switch marked 80 is closed at a standing 295 psig", state: knowledge.Standing,
			facts: map[string]string{"low-pressure-cutout": "80", "outdoor-temperature": "95"}, shut: []string{"low-pressure-switch"}, reads: want{"pressure/suction": {294, 297}},
		},
		{
			rule: "a one-pole contactor leaves the other leg live through the windings", state: knowledge.Standing, facts: map[string]string{"contactor-poles": "1"},
			off: []string{"compressor"}, reads: want{"voltage/l2-ground": leg, "voltage/contactor-load": dead, "voltage/across-contactor-pole": live240},
		},
		{
			rule: "one fuse blown feeds both legs from the other, with nothing between them", state: knowledge.Calling, setting: modes("disconnect-fuse-l1", "open"),
			off: []string{"compressor", "outdoor-fan"}, on: []string{"contactor-coil"},
			reads: want{"voltage/l1-ground": leg, "voltage/l2-ground": leg, "voltage/contactor-line": {0, 2}, "voltage/disconnect-line": live240},
		},
		{
			rule: "an open Y has nothing outdoors, to common or to ground", state: knowledge.Calling, setting: modes("cable-y", "open"),
			off: []string{"compressor"}, on: []string{"blower"}, reads: want{"voltage/y-outdoor": dead, "voltage/y-outdoor-ground": dead, "voltage/y-indoor": live24},
		},
		{
			rule: "an open common has nothing to common and 24 to ground outdoors", state: knowledge.Calling, setting: modes("cable-c", "open"),
			off: []string{"compressor"}, on: []string{"blower"}, reads: want{"voltage/y-outdoor": dead, "voltage/y-outdoor-ground": live24},
		},
		{
			rule: "an open low-pressure switch has 24 before it, across it, and none at the coil", state: knowledge.Calling, setting: modes("low-pressure-switch", "open"),
			on: []string{"blower"}, off: []string{"compressor"},
			reads: want{"voltage/y-outdoor": live24, "voltage/across-low-pressure-switch": live24, "voltage/low-pressure-switch-out": dead, "voltage/contactor-coil": dead},
		},
		{
			rule: "a contactor with both poles welded runs with the thermostat satisfied", state: knowledge.Standing,
			setting: modes("contactor-pole-1", "welded", "contactor-pole-2", "welded"), on: []string{"compressor", "outdoor-fan"}, off: []string{"contactor-coil", "blower"},
			reads: want{"voltage/contactor-load": live240},
		},
		{
			rule: "a one-pole contactor welded runs with the thermostat satisfied", state: knowledge.Standing, facts: map[string]string{"contactor-poles": "1"},
			setting: modes("contactor-pole-1", "welded"), on: []string{"compressor", "outdoor-fan"},
		},
		{
			rule: "one welded pole of two starts nothing", state: knowledge.Standing, setting: modes("contactor-pole-1", "welded"),
			off: []string{"compressor", "outdoor-fan"}, reads: want{"voltage/contactor-load": dead, "voltage/l1-ground": leg},
		},
		{
			rule: "a winding shorted to ground trips the breaker", state: knowledge.Calling, setting: modes("compressor-insulation", "shorted"),
			open: []string{"breaker-l1", "breaker-l2"}, on: []string{"blower"}, off: []string{"compressor"}, reads: want{"voltage/disconnect-line": dead},
		},
		{
			rule: "a running blower proves the transformer when the outdoor unit is dead", state: knowledge.Calling, setting: modes("breaker-l1", "open"),
			on: []string{"blower", "contactor-coil"}, off: []string{"compressor"}, reads: want{"voltage/transformer-secondary": live24},
		},
		{
			rule: "a transformer with an open winding stops indoor and outdoor units", state: knowledge.Calling, setting: modes("transformer", "primary-open"),
			off: []string{"blower", "compressor", "contactor-coil"}, reads: want{"voltage/transformer-primary": live240, "voltage/transformer-secondary": dead},
		},
	} {
		t.Run(c.rule, func(t *testing.T) {
			t.Parallel()
			s := settle(t, c.facts, c.setting)
			p := s.last(c.state)
			for _, id := range c.on {
				require.True(t, p.On(id), "%s is on", id)
			}
			for _, id := range c.off {
				require.False(t, p.On(id), "%s is off", id)
			}
			for _, id := range c.open {
				require.False(t, p.Conducts(id), "%s is open", id)
			}
			for _, id := range c.shut {
				require.True(t, p.Conducts(id), "%s is closed", id)
			}
			for id, span := range c.reads {
				got := s.read(p, id)
				require.True(t, got >= span[0] && got <= span[1], "%s reads %.3g, not %v", id, got, span)
			}
		})
	}
}

func TestStalledCompressorDrawsLockedRotorAmpsUntilTheOverloadOpens(t *testing.T) {
	t.Parallel()
	for _, setting := range []machine.Setting{modes("compressor-capacitor", "weak"), modes("compressor-capacitor", "open"), modes("compressor", "seized")} {
		s := settle(t, nil, setting)
		phases := s.b.Phases[knowledge.Calling]
		require.Len(t, phases, 2, "%v: before and after the trip", setting.Modes)
		require.False(t, phases[0].On("compressor"))
		require.InDelta(t, 70, s.read(phases[0], "current/compressor-common"), 8, "%v", setting.Modes)
		require.Zero(t, s.read(phases[1], "current/compressor-common"))
		off := s.b.Phases[knowledge.DeEnergised]
		require.Len(t, off, 2, "hot, and cooled")
		require.True(t, math.IsInf(s.read(off[0], "resistance/compressor-c-r"), 1))
		require.InDelta(t, 0.8, s.read(off[1], "resistance/compressor-c-r"), 0.1)
	}
}

func TestLostChargeOpensTheLowPressureSwitchRunningAndStanding(t *testing.T) {
	t.Parallel()
	ten := 10.0
	s := settle(t, nil, machine.Setting{Effects: []knowledge.Effect{{On: "pressure/suction", Set: &ten}}})
	for _, state := range knowledge.States[:2] {
		p := s.last(state)
		require.False(t, p.Conducts("low-pressure-switch"), state)
		require.InDelta(t, 10, s.read(p, "pressure/suction"), 1e-9, state)
	}
	require.False(t, s.last(knowledge.Calling).On("compressor"))
	require.True(t, s.last(knowledge.Calling).On("blower"))
}

func TestPhaseWeightsSumToOne(t *testing.T) {
	t.Parallel()
	u := newUnit(load(t), "split-cooling", nil)
	m, err := machine.New(u.base, u.id, u.facts)
	require.NoError(t, err)
	for _, setting := range u.singles() {
		b, err := m.Run(machine.Setting{Modes: setting})
		require.NoError(t, err)
		for state, phases := range b.Phases {
			total := 0.0
			for _, p := range phases {
				total += p.Weight
			}
			require.InDelta(t, 1, total, 1e-12, "%v %s", setting, state)
		}
	}
}
