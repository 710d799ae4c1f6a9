package air_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/air"
)

// embedded is the shipped knowledge, loaded once: nothing changes it.
var embedded = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

func checks(t testing.TB) *air.Checks {
	t.Helper()
	base, err := embedded()
	require.NoError(t, err)
	c, err := air.NewChecks(base)
	require.NoError(t, err)
	return c
}

// rows reads a file of testdata: comments, a heading, rows by heading.
func rows(t *testing.T, name string) []map[string]string {
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

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return v
}

// inputs reads "db=86F wb=77F" and "1200 cfm 20 F" into numbers by name or unit.
func inputs(t *testing.T, text string) map[string]float64 {
	t.Helper()
	out := map[string]float64{}
	for _, m := range regexp.MustCompile(`([A-Za-z]+)=(-?[0-9.]+)`).FindAllStringSubmatch(text, -1) {
		out[m[1]] = number(t, m[2])
	}
	for _, m := range regexp.MustCompile(`(-?[0-9.]+) ([A-Za-z]+)`).FindAllStringSubmatch(text, -1) {
		out[m[2]] = number(t, m[1])
	}
	require.NotEmpty(t, out, text)
	return out
}
