package machine_test

import (
	"fmt"
	"maps"
	"math/cmplx"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// How far the solver may lie from ngspice: the larger of a share and a floor, in
// volts or amps. The house asks for 1 % or 0.05; the two solve the same circuit, so
// only rounding is let pass.
const (
	share = 1e-4
	floor = 1e-3
)

// pairEvery thins the pairs of faults.
const pairEvery = 61

// sideBySide is how many circuits stand in one run of ngspice.
const sideBySide = 60

// units are the machines checked: the equipment, and what its facts change in the
// wiring.
var units = map[string]map[string]string{
	"as usual":               nil,
	"one-pole contactor":     {"contactor-poles": "1"},
	"delay timer fitted":     {"delay-timer": "fitted"},
	"no float switch":        {"float-switch": "none"},
	"fan on, ECM, no safety": {"fan-setting": "on", "blower-type": "ecm", "low-pressure-switch": "none", "high-pressure-switch": "none"},
}

// embedded is the shipped knowledge, loaded once: nothing changes it.
var embedded = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

func load(t testing.TB) *knowledge.Base {
	t.Helper()
	base, err := embedded()
	require.NoError(t, err)
	return base
}

// TestEveryFaultAgreesWithNgspice compares every node voltage and branch current of
// every settled phase with ngspice's, and asks of ngspice's voltages whether each
// coil, contact and rotor is where the phase has it.
func TestEveryFaultAgreesWithNgspice(t *testing.T) {
	t.Parallel()
	needNgspice(t)
	base := load(t)
	for name, facts := range units {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			u := newUnit(base, "split-cooling", facts)
			scenes := u.scenes(t, append(u.singles(), u.somePairs()...))
			worst := u.compare(t, scenes, func(a *answer, w *worst) {
				a.compareNetwork(t, w)
				for i := range a.parts {
					if text := a.disagreement(&a.parts[i]); text != "" {
						t.Errorf("%v: %s", a.scene, text)
					}
				}
			})
			t.Log(worst)
		})
	}
}

// TestMeterAgreesWithAResistorInNgspice puts the meter into ngspice's circuit as
// the resistor it is.
func TestMeterAgreesWithAResistorInNgspice(t *testing.T) {
	t.Parallel()
	needNgspice(t)
	base := load(t)
	u := newUnit(base, "split-cooling", nil)
	m, err := machine.New(base, u.id, u.facts)
	require.NoError(t, err)
	meters := map[[2]string]*machine.Meter{}
	for _, id := range sortedKeys(base.Measurements) {
		k := base.Measurements[id]
		meter, err := m.Meter(id, k)
		require.NoError(t, err)
		if meter != nil && len(k.Between) == 2 {
			meters[[2]string(k.Between)] = meter
		}
	}
	require.Greater(t, len(meters), 15, "the usual voltage points")
	var scenes []*scene
	for _, s := range u.scenes(t, []map[string]string{
		nil,
		{"cable-y": "open"},
		{"cable-c": "open"},
		{"low-pressure-switch": "open"},
		{"control-fuse": "open"},
		{"thermostat-y": "stuck-open"},
		{"disconnect-fuse-l1": "open"},
		{"contactor-coil": "open"},
		{"cable-y": "high-resistance"},
		{"transformer": "primary-open"},
	}) {
		for between := range meters {
			probed := *s
			probed.probe = between[:]
			scenes = append(scenes, &probed)
		}
	}
	t.Log(u.compare(t, scenes, func(a *answer, w *worst) {
		got := meters[[2]string(a.probe)].Read(a.phase).Value
		w.volt(t, a, fmt.Sprint(a.probe), complex(got, 0), complex(a.between(a.probe[0], a.probe[1]), 0))
	}))
}

// singles is every single fault a kind knows, and none.
func (u *unit) singles() []map[string]string {
	out := []map[string]string{nil}
	for i := range u.parts {
		for _, mode := range sortedKeys(u.base.Kinds[u.parts[i].Kind].Modes) {
			out = append(out, map[string]string{u.parts[i].ID: mode})
		}
	}
	return out
}

// somePairs is every pairEvery-th pair of single faults of two parts.
func (u *unit) somePairs() []map[string]string {
	var out []map[string]string
	singles := u.singles()[1:]
	count := 0
	for i, a := range singles {
		for _, b := range singles[i+1:] {
			pair := maps.Clone(a)
			maps.Copy(pair, b)
			if len(pair) < 2 {
				continue
			}
			if count++; count%pairEvery == 0 {
				out = append(out, pair)
			}
		}
	}
	return out
}

// scenes settles the machine under each setting and lists the phases.
func (u *unit) scenes(t *testing.T, settings []map[string]string) []*scene {
	t.Helper()
	m, err := machine.New(u.base, u.id, u.facts)
	require.NoError(t, err)
	var out []*scene
	for _, modes := range settings {
		b, err := m.Run(machine.Setting{Modes: modes})
		require.NoError(t, err, "%v", modes)
		for _, state := range knowledge.States {
			require.NotEmpty(t, b.Phases[state])
			for _, p := range b.Phases[state] {
				out = append(out, &scene{unit: u, modes: modes, phase: p})
			}
		}
	}
	return out
}

// worst keeps the largest differences met.
type worst struct {
	scenes, circuits, voltages, currents int
	volts, amps                          float64
	atVolts, atAmps                      string
}

func (w *worst) String() string {
	return fmt.Sprintf("%d phases, %d circuits, %d voltages, %d currents; worst %.2g V (%s), %.2g A (%s)",
		w.scenes, w.circuits, w.voltages, w.currents, w.volts, w.atVolts, w.amps, w.atAmps)
}

func (w *worst) volt(t *testing.T, a *answer, where string, got, want complex128) {
	t.Helper()
	d := cmplx.Abs(got - want)
	if w.voltages++; d > w.volts {
		w.volts, w.atVolts = d, fmt.Sprintf("%s, %v", where, a.scene)
	}
	if !(d <= max(floor, share*cmplx.Abs(want))) {
		t.Errorf("%v: voltage at %s is %.4g, ngspice says %.4g", a.scene, where, got, want)
	}
}

func (w *worst) amp(t *testing.T, a *answer, where string, got, want complex128) {
	t.Helper()
	d := cmplx.Abs(got - want)
	if w.currents++; d > w.amps {
		w.amps, w.atAmps = d, fmt.Sprintf("%s, %v", where, a.scene)
	}
	if !(d <= max(floor, share*cmplx.Abs(want))) {
		t.Errorf("%v: current in %s is %.4g, ngspice says %.4g", a.scene, where, got, want)
	}
}

// compare solves the scenes in ngspice, each different circuit once, and hands
// each its answer.
func (u *unit) compare(t *testing.T, scenes []*scene, check func(*answer, *worst)) *worst {
	t.Helper()
	number := map[string]int{} // netlist → circuit
	prefix := func(k int) string { return fmt.Sprintf("c%d_", k) }
	var circuits []string
	of := make([]int, len(scenes))
	for i, s := range scenes {
		text := s.netlist("")
		k, ok := number[text]
		if !ok {
			k = len(circuits)
			number[text] = k
			circuits = append(circuits, s.netlist(prefix(k)))
		}
		of[i] = k
	}
	w := &worst{scenes: len(scenes), circuits: len(circuits)}
	for from := 0; from < len(circuits); from += sideBySide {
		to := min(from+sideBySide, len(circuits))
		vectors := ngspice(t, circuits[from:to])
		for i, s := range scenes {
			if of[i] >= from && of[i] < to {
				check(&answer{scene: s, vectors: vectors, prefix: prefix(of[i])}, w)
			}
		}
	}
	return w
}

// compareNetwork compares every node and every branch.
func (a *answer) compareNetwork(t *testing.T, w *worst) {
	t.Helper()
	for i := range a.parts {
		c := &a.parts[i]
		for _, node := range c.Nodes {
			want, err := a.volts(node)
			require.NoError(t, err)
			w.volt(t, a, node, a.phase.Voltage(node, "ground"), want)
		}
		if kind := a.base.Kinds[c.Kind].Element; kind == "branch" || kind == "transformer" {
			w.amp(t, a, c.ID, a.phase.Current(c.ID), a.amps(c.ID))
		}
	}
}
