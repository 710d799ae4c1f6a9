package refrigerant_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

// within is how far a look-up may lie from the equation of state, °F.
const within = 0.05

func tables(t testing.TB) map[string]*refrigerant.Table {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	out := map[string]*refrigerant.Table{}
	for id, r := range base.Refrigerants {
		out[id], err = refrigerant.New(r)
		require.NoError(t, err)
	}
	return out
}

// rows reads a file of testdata: comments, a heading, rows by heading.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, line := range all[1:] {
		row := map[string]string{}
		for i, head := range all[0] {
			row[head] = line[i]
		}
		out = append(out, row)
	}
	require.NotEmpty(t, out)
	return out
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// slope is psi for one °F.
func slope(pressure func(float64) float64, f float64) float64 {
	return pressure(f+0.5) - pressure(f-0.5)
}

func TestBetweenRowsTheTableFollowsTheEquationOfState(t *testing.T) {
	t.Parallel()
	byName, worst := tables(t), 0.0
	covered := map[string]bool{}
	for _, row := range rows(t, "equation-of-state.csv") {
		table, f := byName[row["refrigerant"]], number(t, row["temperature_f"])
		require.NotNil(t, table, row["refrigerant"])
		covered[row["refrigerant"]] = true
		for side, pressure := range map[string]func(float64) float64{"bubble_psig": table.Bubble, "dew_psig": table.Dew} {
			off := math.Abs(pressure(f)-number(t, row[side])) / slope(pressure, f)
			worst = max(worst, off)
			require.LessOrEqual(t, off, within, "%s %s at %g °F gives %.3f psig, %s says %s", row["refrigerant"], side, f, pressure(f), row["source"], row[side])
		}
	}
	require.Len(t, covered, len(byName), "every refrigerant of the knowledge is checked")
	t.Logf("worst %.4f °F", worst)
}

func TestPublishedPressures(t *testing.T) {
	t.Parallel()
	byName := tables(t)
	for _, row := range rows(t, "published.csv") {
		table, f, want := byName[row["refrigerant"]], number(t, row["temperature_f"]), number(t, row["published_psig"])
		require.NotNil(t, table, row["refrigerant"])
		sides := map[string][]func(float64) float64{"bubble": {table.Bubble}, "dew": {table.Dew}, "saturated": {table.Bubble, table.Dew}}[row["side"]]
		require.NotEmpty(t, sides, row["side"])
		for _, pressure := range sides {
			slack := number(t, row["tolerance_psi"]) + within*slope(pressure, f)
			require.InDelta(t, want, pressure(f), slack, "%s %s at %g °F (%s)", row["refrigerant"], row["side"], f, row["source"])
		}
	}
}

func TestPressureRisesWithTemperatureAndBubbleIsNotBelowDew(t *testing.T) {
	t.Parallel()
	byName := tables(t)
	rapid.Check(t, func(t *rapid.T) {
		for name, table := range byName {
			f := rapid.Float64Range(-60, 150).Draw(t, "°F")
			require.Less(t, table.Dew(f), table.Dew(f+0.01), name)
			require.Less(t, table.Bubble(f), table.Bubble(f+0.01), name)
			require.GreaterOrEqual(t, table.Bubble(f), table.Dew(f)-1e-9, name)
		}
	})
}

func TestOutsideTheTableItsEndHolds(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		require.Equal(t, table.Dew(-60), table.Dew(-300), name)
		require.Equal(t, table.Bubble(1000), table.Bubble(5000), name)
		require.False(t, math.IsNaN(table.Dew(math.Inf(1))), name)
	}
}

func TestATableThatDoesNotRiseIsRefused(t *testing.T) {
	t.Parallel()
	for rule, r := range map[string]*knowledge.Refrigerant{
		"R-0 temperatures fall":  {Name: "R-0", Table: [][3]float64{{10, 5, 5}, {5, 6, 6}}},
		"R-0 dew stands still":   {Name: "R-0", Table: [][3]float64{{5, 5, 5}, {10, 6, 5}}},
		"R-0 one row is no line": {Name: "R-0", Table: [][3]float64{{5, 5, 5}}},
	} {
		_, err := refrigerant.New(r)
		require.ErrorContains(t, err, "R-0", rule)
	}
}

func BenchmarkDew(b *testing.B) {
	table := tables(b)["R-410A"]
	b.ReportAllocs()
	for b.Loop() {
		table.Dew(43.7)
	}
}
