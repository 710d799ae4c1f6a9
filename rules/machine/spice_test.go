package machine_test

import (
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// needNgspice skips where ngspice is not installed; in CI nothing is skipped.
func needNgspice(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("ngspice"); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal("ngspice is not installed, and in CI no outside check is skipped: apt-get install ngspice")
		}
		t.Skip("ngspice is not installed; the circuits are not checked against it (apt-get install ngspice)")
	}
}

// ngspice solves many circuits side by side at 60 Hz and returns every vector it
// saved, by name: node voltages under the node's name, currents as i(vname).
func ngspice(t *testing.T, circuits []string) map[string]complex128 {
	t.Helper()
	dir := t.TempDir()
	in, out := filepath.Join(dir, "deck.cir"), filepath.Join(dir, "out.raw")
	deck := "proveout: circuits side by side\n" + strings.Join(circuits, "") + ".ac lin 1 60 60\n.end\n"
	require.NoError(t, os.WriteFile(in, []byte(deck), 0o600))
	cmd := exec.CommandContext(t.Context(), "ngspice", "-b", "-r", out, in)
	cmd.Env = append(os.Environ(), "SPICE_ASCIIRAWFILE=1")
	said, err := cmd.CombinedOutput()
	require.NoError(t, err, "ngspice: %s", said)
	raw, err := os.ReadFile(out)
	require.NoError(t, err, "ngspice wrote no results: %s", said)
	vectors, err := parseRaw(raw)
	require.NoError(t, err, "ngspice: %s", said)
	return vectors
}

// parseRaw reads an ngspice raw file in ASCII with one complex point.
func parseRaw(raw []byte) (map[string]complex128, error) {
	var names []string
	out := map[string]complex128{}
	section := ""
	lines := bufio.NewScanner(bytes.NewReader(raw))
	for lines.Scan() {
		line := strings.TrimSpace(lines.Text())
		switch {
		case line == "Variables:", line == "Values:":
			section = line
		case section == "Variables:":
			f := strings.Fields(line)
			if len(f) < 3 {
				return nil, fmt.Errorf("raw file: variable line %q", line)
			}
			names = append(names, f[1])
		case section == "Values:" && line != "":
			if len(out) >= len(names) {
				return nil, fmt.Errorf("raw file: more values than its %d variables", len(names))
			}
			f := strings.Fields(line)
			v, err := parseComplex(f[len(f)-1])
			if err != nil {
				return nil, err
			}
			out[names[len(out)]] = v
		}
	}
	if len(out) == 0 || len(out) != len(names) {
		return nil, fmt.Errorf("raw file: %d variables, %d values", len(names), len(out))
	}
	return out, lines.Err()
}

func parseComplex(s string) (complex128, error) {
	re, im, ok := strings.Cut(s, ",")
	x, err := strconv.ParseFloat(re, 64)
	if !ok || err != nil {
		return 0, fmt.Errorf("raw file: %q is not a complex number", s)
	}
	y, err := strconv.ParseFloat(im, 64)
	if err != nil {
		return 0, fmt.Errorf("raw file: %q is not a complex number: %w", s, err)
	}
	return complex(x, y), nil
}

func sortedKeys[K cmp.Ordered, V any](m map[K]V) []K { return slices.Sorted(maps.Keys(m)) }
