package machine_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// BenchmarkSettle is one hypothesis in all states: cold, by a machine that has met
// nothing before, and warm.
func BenchmarkSettle(b *testing.B) {
	base := load(b)
	setting := machine.Setting{Modes: map[string]string{"compressor-capacitor": "weak"}}
	b.Run("cold", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			b.StopTimer()
			m, err := machine.New(base, "split-cooling", nil)
			require.NoError(b, err)
			b.StartTimer()
			_, err = m.Run(setting)
			require.NoError(b, err)
		}
	})
	b.Run("warm", func(b *testing.B) {
		m, err := machine.New(base, "split-cooling", nil)
		require.NoError(b, err)
		b.ReportAllocs()
		for b.Loop() {
			_, err := m.Run(setting)
			require.NoError(b, err)
		}
	})
}

// BenchmarkEveryFault is the settling behind a prediction table: every single
// fault in all states, on a fresh machine.
func BenchmarkEveryFault(b *testing.B) {
	u := newUnit(load(b), "split-cooling", nil)
	settings := u.singles()
	b.ReportAllocs()
	for b.Loop() {
		m, err := machine.New(u.base, u.id, u.facts)
		require.NoError(b, err)
		for _, modes := range settings {
			_, err := m.Run(machine.Setting{Modes: modes})
			require.NoError(b, err)
		}
	}
	b.ReportMetric(float64(len(settings)), "faults/op")
}

// BenchmarkMeter reads every point the unit has, in one phase.
func BenchmarkMeter(b *testing.B) {
	base := load(b)
	m, err := machine.New(base, "split-cooling", nil)
	require.NoError(b, err)
	settled, err := m.Run(machine.Setting{})
	require.NoError(b, err)
	var meters []*machine.Meter
	for _, id := range sortedKeys(base.Measurements) {
		meter, err := m.Meter(id, base.Measurements[id])
		require.NoError(b, err)
		if meter != nil {
			meters = append(meters, meter)
		}
	}
	phase := settled.Phases[knowledge.Calling][0]
	b.ReportAllocs()
	for b.Loop() {
		for _, meter := range meters {
			meter.Read(phase)
		}
	}
	b.ReportMetric(float64(len(meters)), "readings/op")
}
