package refrigerant_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

// within is how far a look-up may lie from the equation of state, °F.
const within = 0.05

// embedded is the shipped knowledge, loaded once: nothing changes it.
var embedded = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

func load(t testing.TB) *knowledge.Base {
	t.Helper()
	base, err := embedded()
	require.NoError(t, err)
	return base
}

func tables(t testing.TB) map[string]*refrigerant.Table {
	t.Helper()
	out := map[string]*refrigerant.Table{}
	for id, r := range load(t).Refrigerants {
		table, err := refrigerant.New(r)
		require.NoError(t, err)
		out[id] = table
	}
	return out
}

// rows reads a file of testdata: comments, a heading, rows by heading.
func rows(t testing.TB, name string) []map[string]string {
	t.Helper()
	src, err := os.ReadFile(filepath.Join("testdata", name))
	require.NoError(t, err)
	r := csv.NewReader(bytes.NewReader(src))
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

func number(t testing.TB, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}
