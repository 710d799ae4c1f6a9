package prove_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules/prove"
)

func TestEveryFaultIsFoundWithEitherMeteringDeviceInEveryWeatherOnTwoRefrigerants(t *testing.T) {
	t.Parallel()
	if testing.Short() {
		t.Skip("twelve tables")
	}
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	// The electrical side is played in TestEveryControlAndLineFaultIsFoundInHalfTheFlowchartsMinutes,
	// and here by proveout prove --matrix.
	var faults []string
	for id, f := range base.Faults {
		if prove.SideOf(f) != prove.Electrical {
			faults = append(faults, id)
		}
	}
	cells, err := prove.Matrix(base, "split-cooling", prove.Options{Faults: faults})
	require.NoError(t, err)
	require.Len(t, cells, 12)
	require.Empty(t, prove.MatrixFailures(base, cells))
	for _, c := range cells {
		for _, r := range c.Table.Rows {
			for called, n := range r.Called {
				require.False(t, n > 0 && base.Faults[called].NeedsConfirmation && called != r.Fault,
					"%s: %s called on %s", c.Name(), called, r.Fault)
			}
			if r.Side == prove.Process && r.Undecided > 0 {
				t.Logf("%s: %s (%s) undecided", c.Name(), r.Fault, r.Severity)
			}
		}
		for _, s := range c.Table.Summaries {
			t.Logf("%s: %s %d of %d found, %d undecided, %.1f min, %.2f of the flowchart",
				c.Name(), s.Side, s.Found, s.Games, s.Undecided, s.Minutes, s.Ratio())
		}
	}
}
