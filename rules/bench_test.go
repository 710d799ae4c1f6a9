package rules_test

import (
	"slices"
	"testing"
	"time"

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
	took := make([]time.Duration, 0, 1<<16)
	for b.Loop() {
		began := time.Now()
		m.Diagnose(s)
		took = append(took, time.Since(began))
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2].Seconds()*1000, "ms-median")
}

// BenchmarkDiagnoseLate weighs two dozen readings, any of which may be asked again.
func BenchmarkDiagnoseLate(b *testing.B) {
	base, m := splitCooling(b)
	s := longJob(base, m)
	require.Len(b, s.Evidence, 24)
	b.ReportAllocs()
	for b.Loop() {
		m.Diagnose(s)
	}
}

// longJob is a sound machine gone through from the top of the flowchart.
func longJob(base *knowledge.Base, m *rules.Model) *rules.Situation {
	s := &rules.Situation{State: knowledge.Calling, Place: "outdoor"}
	for _, t := range m.Truths() {
		for _, what := range base.Equipment["split-cooling"].Flowchart {
			a := m.Question(s, what, "")
			if t.Fault != "none/normal" || a == nil || len(s.Evidence) == 24 {
				continue
			}
			if it, ok := m.Answer(t, a); ok {
				s.Evidence = append(s.Evidence, it)
			}
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
