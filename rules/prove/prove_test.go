package prove_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
)

// The bars of the issue: minutes against the flowchart, and the choice of tests
// against the optimum.
const (
	flowchartBar = 0.5
	optimumBar   = 1.05
	// misledBar bounds wrong calls whose proof slips put in hand. The issue sets
	// none; this keeps them from creeping up.
	misledBar = 0.035
)

func table(t *testing.T, o prove.Options) *prove.Table {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	m, err := rules.Compile(base, "split-cooling", o.Facts)
	require.NoError(t, err)
	out, err := prove.Run(m, base, o)
	require.NoError(t, err)
	return out
}

func sum(t *testing.T, tab *prove.Table, side prove.Side) prove.Sum {
	t.Helper()
	for _, s := range tab.Summaries {
		if s.Side == side {
			return s
		}
	}
	require.Fail(t, "no rows of this side", side)
	return prove.Sum{}
}

func TestEveryControlAndLineFaultIsFoundInHalfTheFlowchartsMinutes(t *testing.T) {
	t.Parallel()
	units := map[string]map[string]string{
		"as usually fitted":       nil,
		"one-pole contactor":      {"contactor-poles": "1"},
		"delay timer":             {"delay-timer": "fitted"},
		"no float switch":         {"float-switch": "none"},
		"no low-pressure switch":  {"low-pressure-switch": "none"},
		"no high-pressure switch": {"high-pressure-switch": "none"},
		"ECM blower":              {"blower-type": "ecm"},
		"R-22":                    {"refrigerant": "R-22"},
		"fan on":                  {"fan-setting": "on"},
	}
	for name, facts := range units {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			tab := table(t, prove.Options{Facts: facts})
			require.Empty(t, tab.Failures())
			s := sum(t, tab, prove.Electrical)
			require.Equal(t, s.Games, s.Found)
			require.LessOrEqual(t, s.Ratio(), flowchartBar)
			for _, r := range tab.Rows {
				require.Zero(t, r.Misled+r.Unproven, "nothing is condemned wrongly on any side: %s", r.Fault)
			}
			p := sum(t, tab, prove.Process)
			t.Logf("electrical %d of %d found, %.1f min, %.2f of the flowchart; refrigerant and air %d of %d, %.1f min",
				s.Found, s.Games, s.Minutes, s.Ratio(), p.Found, p.Games, p.Minutes)
			for _, x := range tab.Subsets {
				require.LessOrEqual(t, x.Ratio(), optimumBar, x.Seen)
				require.GreaterOrEqual(t, x.Ratio(), 1-1e-9, x.Seen)
			}
		})
	}
}

func TestWithOneAnswerInTenWrongNothingIsCondemnedWithoutItsProof(t *testing.T) {
	t.Parallel()
	games := 20
	if testing.Short() {
		games = 4
	}
	tab := table(t, prove.Options{Noise: 0.1, Games: games, Seed: 1001})
	for _, r := range tab.Rows {
		require.Zero(t, r.Unproven, r.Fault)
	}
	require.Empty(t, tab.Failures())
	s := sum(t, tab, prove.Electrical)
	require.GreaterOrEqual(t, s.FoundShare(), prove.FoundBar)
	require.LessOrEqual(t, float64(s.Misled), misledBar*float64(s.Games))
	require.LessOrEqual(t, s.Ratio(), flowchartBar)
	t.Logf("electrical %.1f %% of %d games found, %d undecided, %d misled, %.1f min", 100*s.FoundShare(), s.Games, s.Undecided, s.Misled, s.Minutes)
}

func TestATableCanBeMadeAgainToTheLastDigit(t *testing.T) {
	t.Parallel()
	o := prove.Options{Faults: []string{"contactor-coil/open", "supply/lost-leg"}, Noise: 0.3, Games: 5, Seed: 7}
	once, err := json.Marshal(table(t, o))
	require.NoError(t, err)
	again, err := json.Marshal(table(t, o))
	require.NoError(t, err)
	require.Equal(t, string(once), string(again))
	o.Seed = 8
	other, err := json.Marshal(table(t, o))
	require.NoError(t, err)
	require.NotEqual(t, string(once), string(other), "another seed, other slips")
}

func TestProgressEndsAtTheTotal(t *testing.T) {
	t.Parallel()
	var seen []int
	tab := table(t, prove.Options{Faults: []string{"supply/lost-leg"}, Noise: 0.1, Games: 3, Progress: func(done, total int) {
		require.Equal(t, 6, total, "two degrees, three games each")
		seen = append(seen, done)
	}})
	require.Equal(t, []int{1, 2, 3, 4, 5, 6}, seen)
	require.Len(t, tab.Rows, 2)
}

func TestAFaultTheUnitCannotHaveIsAnErrorThatNamesThoseItCan(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	m, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	_, err = prove.Run(m, base, prove.Options{Faults: []string{"delay-timer/stuck-open"}})
	require.ErrorContains(t, err, `no fault "delay-timer/stuck-open"`)
	require.ErrorContains(t, err, "contactor-coil/open")
}

func TestFailuresNameWhatDoesNotHold(t *testing.T) {
	t.Parallel()
	row := func(side prove.Side, r prove.Row) prove.Row {
		r.Fault, r.Degree, r.Side, r.Games = "part/mode", 1, side, 1
		return r
	}
	other := map[string]int{"other/mode": 1}
	tests := map[string]struct {
		noise float64
		row   prove.Row
		want  []string
	}{
		"an electrical fault not found":                   {0, row(prove.Electrical, prove.Row{Undecided: 1}), []string{"part/mode (degree 1): not found"}},
		"a refrigerant fault may stay undecided":          {0, row(prove.Process, prove.Row{Undecided: 1}), []string{}},
		"a wrong part, on any side":                       {0, row(prove.Process, prove.Row{Misled: 1, Called: other}), []string{"part/mode (degree 1): called other/mode"}},
		"a part without its proof":                        {0, row(prove.Sound, prove.Row{Unproven: 1, Called: other}), []string{"part/mode (degree 1): called other/mode without its proof"}},
		"with slips a wrong part whose proof was in hand": {0.1, row(prove.Electrical, prove.Row{Misled: 1, Called: other}), []string{}},
		"with slips one without its proof":                {0.1, row(prove.Electrical, prove.Row{Unproven: 1, Called: other}), []string{"part/mode (degree 1): called other/mode without its proof"}},
	}
	for name, c := range tests {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			tab := prove.Table{Noise: c.noise, Rows: []prove.Row{c.row}}
			require.Equal(t, c.want, tab.Failures())
		})
	}
	tab := prove.Table{Noise: 0.1, Summaries: []prove.Sum{{Side: prove.Electrical, Games: 100, Found: 94}}}
	require.Equal(t, []string{"found 94 of 100 games on the electrical side, less than 95 %"}, tab.Failures())
}

func TestAFaultsSideIsReadOffWhatItDoes(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	for fault, want := range map[string]prove.Side{
		"contactor-coil/open":     prove.Electrical,
		"run-capacitor/fan-weak":  prove.Electrical, // parts and pressures
		"refrigerant/undercharge": prove.Process,
		"filter/clogged":          prove.Process,
		"none/normal":             prove.Sound,
	} {
		require.Equal(t, want, prove.SideOf(base.Faults[fault]), fault)
	}
}
