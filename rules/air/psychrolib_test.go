package air_test

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/rules/air"
)

// reference is where make psychrolib puts the npm package.
const reference = "../../.psychrolib/node_modules/psychrolib"

// needPsychrolib skips where node or the package is not installed; in CI nothing is
// skipped.
func needPsychrolib(t *testing.T) {
	t.Helper()
	_, noNode := exec.LookPath("node")
	_, noPackage := os.Stat(reference)
	if noNode == nil && noPackage == nil {
		return
	}
	if os.Getenv("CI") != "" {
		t.Fatal("node with the package psychrolib is not installed, and in CI no outside check is skipped: make psychrolib")
	}
	t.Skip("node with the package psychrolib is not installed; the air is not checked against it (make psychrolib)")
}

// TestOverAGridTheAirIsAsPsychrolibHasIt compares with the reference implementation:
// dry bulb 20 to 120 °F, humidity 5 to 100 %, altitude 0 to 7,000 ft; temperatures to
// 0.02 °F, everything else to 0.1 %.
func TestOverAGridTheAirIsAsPsychrolibHasIt(t *testing.T) {
	t.Parallel()
	needPsychrolib(t)
	folder, err := filepath.Abs(reference)
	require.NoError(t, err)
	printed, err := exec.CommandContext(t.Context(), "node", "testdata/psychrolib.js", folder).Output()
	require.NoError(t, err)
	lines, err := csv.NewReader(bytes.NewReader(printed)).ReadAll()
	require.NoError(t, err)
	require.Len(t, lines, 8*26*20)

	worst := map[string]float64{}
	for _, line := range lines {
		v := make([]float64, len(line))
		for i, text := range line {
			v[i] = number(t, text)
		}
		degrees := func(what string, got, want float64) {
			worst[what] = max(worst[what], math.Abs(got-want))
			require.InDelta(t, want, got, 0.02, "%s at %v", what, line)
		}
		share := func(what string, got, want float64) {
			worst[what] = max(worst[what], 100*math.Abs(got/want-1))
			require.InEpsilon(t, want, got, 0.001, "%s at %v", what, line)
		}
		pressure, err := air.Atmosphere(v[0])
		require.NoError(t, err)
		share("pressure %", pressure, v[3])
		m, err := air.FromHumidity(v[1], v[2], pressure)
		require.NoError(t, err)
		share("humidity ratio %", m.Ratio, v[4])
		degrees("wet bulb °F", m.WetBulb(), v[5])
		degrees("dew point °F", m.DewPoint(), v[6])
		share("enthalpy %", m.Enthalpy(), v[7])
		share("volume %", m.Volume(), v[8])
		if v[5] > v[1] {
			continue // the reference's wet bulb is rounded past saturation
		}
		back, err := air.FromWetBulb(v[1], v[5], pressure)
		require.NoError(t, err)
		share("humidity from wet bulb %", back.Humidity(), v[9])
	}
	t.Logf("worst over %d states: %v", len(lines), worst)
}
