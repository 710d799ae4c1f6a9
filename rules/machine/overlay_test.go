package machine_test

import (
	"math"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// overlaid loads the shipped knowledge with one file of a shop over it.
func overlaid(t *testing.T, path, text string) *knowledge.Base {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded(), fstest.MapFS{path: {Data: []byte(text)}})
	require.NoError(t, err)
	return base
}

func TestSelfFeedingContactIsAnErrorNamingTheLoop(t *testing.T) {
	t.Parallel()
	base := overlaid(t, "equipment/buzzer.yaml", `
buzzer:
  name: a contactor that cuts its own feed
  extends: split-cooling
  source: common practice
  nodes:
    interlock-out: {colour: yellow, place: outdoor, name: the load side of the interlock, common: c-od}
  components:
    - {id: interlock, kind: contact, name: interlock, nodes: [hps-out, interlock-out], closed: [{dropped: contactor-coil}], place: outdoor}
    - {id: delay-timer, nodes: [interlock-out, timer-out]}
`)
	m, err := machine.New(base, "buzzer", nil)
	require.NoError(t, err)
	_, err = m.Run(machine.Setting{})
	require.ErrorContains(t, err, "does not settle")
	require.ErrorContains(t, err, "state calling")
	for _, id := range []string{"contactor-coil", "interlock"} {
		require.ErrorContains(t, err, id)
	}
	require.NotContains(t, err.Error(), "control-fuse", "only what chases each other is named")
}

const guarded = `
guarded:
  name: split cooling with a discharge-temperature switch
  extends: split-cooling
  source: common practice
  nodes:
    dts-out: {colour: yellow, place: outdoor, name: the load side of the discharge-temperature switch, common: c-od}
  components:
    - {id: discharge-switch, kind: switch, name: discharge-temperature switch, nodes: [hps-out, dts-out], place: outdoor}
    - {id: delay-timer, nodes: [dts-out, timer-out]}
`

func TestANewSwitchInTheNetlistIsAllItTakes(t *testing.T) {
	t.Parallel()
	base := overlaid(t, "equipment/guarded.yaml", guarded)
	fault := base.Faults["discharge-switch/open"]
	require.NotNil(t, fault, "a fault is derived from the kind")
	require.True(t, fault.Derived)
	require.Contains(t, fault.Name, "discharge-temperature switch")

	good := settled(t, base, "guarded", nil, machine.Setting{})
	bad := settled(t, base, "guarded", nil, machine.Setting{Modes: fault.Modes})
	require.True(t, good.last(knowledge.Calling).On("compressor"))
	require.False(t, bad.last(knowledge.Calling).On("compressor"))
	require.True(t, bad.last(knowledge.Calling).On("blower"))
	for _, c := range []struct {
		reading   knowledge.ReadingID
		state     string
		good, bad float64
	}{
		{"voltage/high-pressure-switch-out", knowledge.Calling, 26.5, 26.9},
		{"voltage/discharge-switch-out", knowledge.Calling, 26.5, 0},
		{"voltage/across-discharge-switch", knowledge.Calling, 0, 26.9},
		{"voltage/contactor-coil", knowledge.Calling, 26.4, 0},
		{"resistance/discharge-switch", knowledge.DeEnergised, 0.05, math.Inf(1)},
	} {
		for _, got := range []struct {
			s    *seen
			want float64
		}{{good, c.good}, {bad, c.bad}} {
			v := got.s.read(got.s.last(c.state), c.reading)
			require.True(t, v == got.want || math.Abs(v-got.want) < 0.4, "%s reads %.2f, not %.2f", c.reading, v, got.want)
		}
	}
}

func TestAnotherEquipmentsDerivedPointsAreNotOnThisUnit(t *testing.T) {
	t.Parallel()
	base := overlaid(t, "equipment/guarded.yaml", guarded)
	m, err := machine.New(base, "split-cooling", nil)
	require.NoError(t, err)
	for _, id := range sortedKeys(base.Measurements) {
		meter, err := m.Meter(id, base.Measurements[id])
		require.NoError(t, err)
		if base.Measurements[id].Component == "discharge-switch" {
			require.Nil(t, meter, id)
		}
	}
}

func TestAModeMayTakeItsFigureFromAFact(t *testing.T) {
	t.Parallel()
	base := overlaid(t, "kinds/capacitor.yaml", `
capacitor:
  element: branch
  name: capacitor
  values: {uf: 45}
  modes:
    weak: {set: {uf: 0.5 * compressor-capacitor-rating}}
    weak-slightly: {scale: {uf: 0.82}}
    weak-badly: {scale: {uf: 0.35}}
    open: {set: {uf: 0.001}}
    shorted: {set: {ohms: 0.3}}
  source: common practice
`)
	s := settled(t, base, "split-cooling", map[string]string{"compressor-capacitor-rating": "60"}, modes("compressor-capacitor", "weak"))
	require.InDelta(t, 30, s.read(s.last(knowledge.DeEnergised), "capacitance/compressor-capacitor"), 1e-9)
}

func TestUnknownNamesAreErrorsThatNameThem(t *testing.T) {
	t.Parallel()
	base := load(t)
	_, err := machine.New(base, "ice-box", nil)
	require.ErrorContains(t, err, "ice-box")
	require.ErrorContains(t, err, "split-cooling", "it names what there is")
	m, err := machine.New(base, "split-cooling", nil)
	require.NoError(t, err)
	for part, s := range map[string]machine.Setting{
		"flux-capacitor": modes("flux-capacitor", "open"),
		"melted":         modes("control-fuse", "melted"),
		"pressure/tyre":  {Effects: []knowledge.Effect{{On: "pressure/tyre"}}},
	} {
		_, err := m.Run(s)
		require.ErrorContains(t, err, part)
	}
	_, err = m.Meter("voltage/nowhere", &knowledge.Measurement{Between: []string{"nowhere", "ground"}})
	require.ErrorContains(t, err, "nowhere")
}

// TestMemoryOfIslandsChangesNothing: a machine that has settled every fault before
// answers bit for bit as a fresh one does.
func TestMemoryOfIslandsChangesNothing(t *testing.T) {
	t.Parallel()
	u := newUnit(load(t), "split-cooling", nil)
	warm, err := machine.New(u.base, u.id, u.facts)
	require.NoError(t, err)
	settings := append(u.singles(), u.somePairs()...)
	for _, modes := range settings {
		_, err := warm.Run(machine.Setting{Modes: modes})
		require.NoError(t, err)
	}
	for i, modes := range settings {
		if i%3 != 0 {
			continue
		}
		fresh, err := machine.New(u.base, u.id, u.facts)
		require.NoError(t, err)
		want, err := fresh.Run(machine.Setting{Modes: modes})
		require.NoError(t, err)
		got, err := warm.Run(machine.Setting{Modes: modes})
		require.NoError(t, err)
		u.same(t, want, got)
	}
}

func (u *unit) same(t *testing.T, want, got *machine.Behaviour) {
	t.Helper()
	for _, state := range knowledge.States {
		require.Len(t, got.Phases[state], len(want.Phases[state]))
		for k, p := range want.Phases[state] {
			q := got.Phases[state][k]
			for i := range u.parts {
				c := &u.parts[i]
				require.Equal(t, p.On(c.ID), q.On(c.ID))
				require.Equal(t, p.Current(c.ID), q.Current(c.ID), c.ID)
				for _, n := range c.Nodes {
					require.Equal(t, p.Voltage(n, "ground"), q.Voltage(n, "ground"), n)
				}
			}
		}
	}
}
