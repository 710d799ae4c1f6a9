package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What benchmarks say: results, and what a test says beside them.
const (
	ofService = `goos: linux
pkg: proveout/bot
BenchmarkService
BenchmarkService/message
some words beside
BenchmarkService/message-2   3734   1731920 ns/op   1.5 ms-insert-p99   2.5 ms-message-p99
BenchmarkService/message-2   3734   1731920 ns/op   1.0 ms-insert-p99   3.5 ms-message-p99
BenchmarkService/message-2   3734   1731920 ns/op   1.25 ms-insert-p99   1.5 ms-message-p99
BenchmarkGrowth
    growth_test.go:35: there is no server to start
--- SKIP: BenchmarkGrowth
PASS
`
	ofSaturation = `pkg: proveout/rules/refrigerant
BenchmarkSaturationTemperature-2   387179012   22.06 ns/op   0.07 °F-off
PASS
`
)

func TestTheTableSaysOfEachBarWhetherItHolds(t *testing.T) {
	t.Parallel()
	m := newMeasures()
	require.NoError(t, m.read("bot", []byte(ofService)))
	require.NoError(t, m.read("rules/refrigerant", []byte(ofSaturation)))
	message := metric{"bot", "Service/message", "ms-message-p99"}
	look := metric{"rules/refrigerant", "SaturationTemperature", "ns/op"}
	for name, c := range map[string]struct {
		bar  bar
		want string
	}{
		"beside its reference, the middle of the runs": {
			bar{measured: message, shown: "ms", beside: message.in("ms-insert-p99"), being: "an insert", limit: 2},
			"| 2.5 ms | 1.25 ms an insert: 2.00 × | holds |",
		},
		"over it":            {bar{measured: message, shown: "ms", beside: message.in("ms-insert-p99"), being: "an insert", limit: 1.9}, "2.00 × | **does not hold** |"},
		"at least":           {bar{measured: message, beside: message.in("ms-insert-p99"), limit: 1.7, least: true}, "| holds |"},
		"under the least":    {bar{measured: message, beside: message.in("ms-insert-p99"), limit: 2.3, least: true}, "| **does not hold** |"},
		"in the unit it has": {bar{measured: look, shown: "ns", limit: 60}, "| 22.1 ns |  | holds |"},
		"of itself":          {bar{measured: look.in("°F-off"), shown: "°F", limit: 0.05}, "| 0.07 °F |  | **does not hold** |"},
		"to be read beside":  {bar{measured: look, shown: "ns"}, "| 22.1 ns |  |  |"},
		"without a figure":   {bar{measured: look.in("°F"), limit: 1}, "|  |  | NOT MEASURED: see what the benchmark said |"},
		"skipped, and why":   {bar{measured: metric{"bot", "Growth/postgres", "ms-at-1000"}, limit: 1}, "| NOT MEASURED: there is no server to start |"},
		"without reference":  {bar{measured: look, shown: "ns", beside: look.in("x"), limit: 1}, "| 22.1 ns |  | NOT MEASURED: "},
	} {
		text, all := table([]bar{c.bar}, m)
		require.Contains(t, text, c.want, name)
		require.Equal(t, strings.Contains(c.want, "| holds |") || c.bar.limit == 0, all, name)
	}
}

// A benchmark renamed, or a figure of it, would else leave its bar unmeasured.
func TestEveryBarNamesABenchmarkThatReportsIt(t *testing.T) {
	t.Parallel()
	reported := regexp.MustCompile(`func Benchmark(\w+)\(|ReportMetric\(.*"(.+)"`)
	filled := regexp.MustCompile(`(-at-|%-)\w+$`) // in as the benchmark runs
	for _, b := range bars() {
		for _, m := range []metric{b.measured, b.beside} {
			if m == (metric{}) {
				continue
			}
			files, err := filepath.Glob(filepath.Join("../..", m.folder, "*_test.go"))
			require.NoError(t, err)
			said := map[string]bool{"ns/op": true}
			for _, f := range files {
				src, err := os.ReadFile(f)
				require.NoError(t, err)
				for _, found := range reported.FindAllStringSubmatch(string(src), -1) {
					said[found[1]+strings.TrimSuffix(found[2], "%d")] = true
				}
			}
			name, _, _ := strings.Cut(m.benchmark, "/")
			require.True(t, said[name], "%s is no benchmark of %s", name, m.folder)
			_, variable := said[filled.ReplaceAllString(m.unit, "$1")]
			require.True(t, said[m.unit] || variable, "no benchmark of %s reports %s", m.folder, m.unit)
		}
	}
}
