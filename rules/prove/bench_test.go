package prove_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
)

// BenchmarkMinutesToTheCall plays every fault once, beside the flowchart, and tells those
// apart that look alike on arrival, beside the optimal policy: of the groups the one that
// comes off worst is reported. Minutes are a technician's, and those of games that end
// undecided are in them.
func BenchmarkMinutesToTheCall(b *testing.B) {
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(b, err)
	m, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(b, err)
	var tab *prove.Table
	for b.Loop() {
		tab, err = prove.Run(m, base, prove.Options{})
		require.NoError(b, err)
	}
	var call, flowchart float64
	for _, r := range tab.Rows {
		call += r.Minutes / float64(len(tab.Rows))
		flowchart += r.Flowchart / float64(len(tab.Rows))
	}
	worst := tab.Subsets[0]
	for _, s := range tab.Subsets {
		if s.Ratio() > worst.Ratio() {
			worst = s
		}
	}
	b.ReportMetric(call, "min-call")
	b.ReportMetric(flowchart, "min-flowchart")
	b.ReportMetric(worst.Engine, "min-apart")
	b.ReportMetric(worst.Optimal, "min-optimal")
}
