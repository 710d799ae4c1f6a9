package rules_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

// midJob is a job half done: what a technician has texted after some minutes at a
// unit whose contactor gets no coil voltage.
func midJob() *rules.Situation {
	return &rules.Situation{
		Evidence: []rules.Item{
			{Subject: "thermostat", Seen: "calling", State: knowledge.Calling},
			{Subject: "blower", Seen: "running", State: knowledge.Calling},
			{Subject: "outdoor-fan", Seen: "off", State: knowledge.Calling},
			{Subject: "compressor", Seen: "off", State: knowledge.Calling},
			{Reading: "voltage/transformer-secondary", Value: 26.5, State: knowledge.Calling},
			{Reading: "voltage/y-indoor", Value: 26.3, State: knowledge.Calling},
		},
		State: knowledge.Calling, Place: "indoor",
	}
}

// BenchmarkDiagnose: bar 2 ms, the whole hypothesis set, ending in the next test.
func BenchmarkDiagnose(b *testing.B) {
	_, m := splitCooling(b)
	s := midJob()
	require.NotNil(b, m.Diagnose(s).Ask)
	b.ReportAllocs()
	for b.Loop() {
		m.Diagnose(s)
	}
}

// BenchmarkDiagnoseLate weighs a long job, where readings may be asked again.
func BenchmarkDiagnoseLate(b *testing.B) {
	_, m := splitCooling(b)
	s := longJob(m)
	b.ReportAllocs()
	for b.Loop() {
		m.Diagnose(s)
	}
}

// longJob answers two dozen questions of a sound machine.
func longJob(m *rules.Model) *rules.Situation {
	s := &rules.Situation{State: knowledge.Calling, CannotTake: map[string]bool{}}
	for _, t := range m.Truths() {
		if t.Fault != "none/normal" {
			continue
		}
		for len(s.Evidence) < 24 {
			d := m.Diagnose(s)
			if d.Ask == nil || d.Ask.Fact != "" {
				break
			}
			it, ok := m.Answer(t, d.Ask)
			if !ok || d.Ask.Purpose == rules.ToConfirm || d.Ask.Purpose == rules.ToRecheck {
				break
			}
			s.Evidence = append(s.Evidence, it)
			s.State, s.Place = d.Ask.State, m.Where(d.Ask)
		}
	}
	return s
}

func BenchmarkCompile(b *testing.B) {
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		_, err := rules.Compile(base, "split-cooling", nil)
		require.NoError(b, err)
	}
}

// BenchmarkLoadAndCompile: bar 300 ms, from the embedded files to the table.
func BenchmarkLoadAndCompile(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		base, err := knowledge.Load(knowledge.Embedded())
		require.NoError(b, err)
		_, err = rules.Compile(base, "split-cooling", nil)
		require.NoError(b, err)
	}
}
