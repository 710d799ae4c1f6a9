package electric_test

import (
	"encoding/csv"
	"os"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/electric"
	"proveout/rules/target"
)

// embedded is the shipped knowledge, loaded once: nothing changes it.
var embedded = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

func checks(t testing.TB) *electric.Checks {
	t.Helper()
	base, err := embedded()
	require.NoError(t, err)
	c, err := electric.NewChecks(base)
	require.NoError(t, err)
	return c
}

var figures = regexp.MustCompile(`[0-9]+(?:\.[0-9]+)?`)

// numbers are the figures in a text, in order, with the decimals the last one is
// written to.
func numbers(t *testing.T, text string) (out []float64, decimals int) {
	t.Helper()
	for _, n := range figures.FindAllString(text, -1) {
		v, err := strconv.ParseFloat(n, 64)
		require.NoError(t, err)
		out = append(out, v)
		_, after, _ := strings.Cut(n, ".")
		decimals = len(after)
	}
	return out, decimals
}

// answers gives, for each kind of row, what is computed from the figures of its
// inputs: one figure or the two ends of a band.
var answers = map[string]func(*testing.T, []float64) []float64{
	"capacitance constant": func(t *testing.T, in []float64) []float64 { return one(electric.Capacitance(1, 1, in[0]))(t) },
	"capacitance under load": func(t *testing.T, in []float64) []float64 {
		return one(electric.Capacitance(in[0], in[1], in[2]))(t)
	},
	"tolerance band 6 percent":  func(_ *testing.T, in []float64) []float64 { return ends(target.Share(in[0], 6, 6)) },
	"tolerance band 10 percent": func(_ *testing.T, in []float64) []float64 { return ends(target.Share(in[0], 10, 10)) },
	"transformer secondary current": func(t *testing.T, in []float64) []float64 {
		l, err := electric.TransformerLoad(in[0], in[1], 0)
		return one(l.Full, err)(t)
	},
	"motor band": func(t *testing.T, in []float64) []float64 {
		b, err := checks(t).Supply(in[0])
		require.NoError(t, err)
		return ends(b)
	},
	"equipment band": func(t *testing.T, _ []float64) []float64 {
		b, err := checks(t).Supply(0)
		require.NoError(t, err)
		return ends(b)
	},
	"service band A": func(_ *testing.T, in []float64) []float64 { return ends(target.Share(in[0], in[1], in[1])) },
	"winding identity": func(t *testing.T, in []float64) []float64 {
		state, off, err := checks(t).Windings(electric.Windings{CommonStart: in[0], CommonRun: in[1], RunStart: in[0] + in[1]})
		require.NoError(t, err)
		require.Equal(t, electric.WindingsSound, state)
		return []float64{in[0] + in[1] - off}
	},
}

func one(v float64, err error) func(*testing.T) []float64 {
	return func(t *testing.T) []float64 {
		t.Helper()
		require.NoError(t, err)
		return []float64{v}
	}
}

func ends(b target.Band) []float64 { return []float64{b.Low, b.High} }

// TestElectricalValuesWorkedByHand goes through electrical-checks.csv row by row, to
// the last place it is written to; each names its source.
func TestElectricalValuesWorkedByHand(t *testing.T) {
	t.Parallel()
	src, err := os.ReadFile("testdata/electrical-checks.csv")
	require.NoError(t, err)
	r := csv.NewReader(strings.NewReader(string(src)))
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 20)
	for _, row := range rows[1:] {
		answer, ok := answers[row[0]]
		require.True(t, ok, row[0])
		in, _ := numbers(t, row[1])
		want, decimals := numbers(t, row[2])
		got := answer(t, in)
		require.Len(t, got, len(want), row[1])
		for i := range want {
			place, _ := strconv.ParseFloat("1e-"+strconv.Itoa(decimals), 64)
			require.InDelta(t, want[i], got[i], 0.5001*place, "%s of %s (%s)", row[0], row[1], row[4])
		}
	}
}
