package knowledge_test

import (
	"io/fs"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

var shipped = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

// folder is a shop's folder: paths and texts in turn.
func folder(pathsAndTexts ...string) fstest.MapFS {
	out := fstest.MapFS{}
	for i := 0; i+1 < len(pathsAndTexts); i += 2 {
		out[pathsAndTexts[i]] = &fstest.MapFile{Data: []byte(pathsAndTexts[i+1])}
	}
	return out
}

// overlaid loads folders over the shipped knowledge.
func overlaid(t *testing.T, shops ...fs.FS) *knowledge.Base {
	t.Helper()
	base, err := knowledge.Load(append([]fs.FS{knowledge.Embedded()}, shops...)...)
	require.NoError(t, err)
	return base
}

func TestAKnownIDReplacesTheWholeItem(t *testing.T) {
	t.Parallel()
	base := overlaid(t, folder("cautions/ours.yaml", `local-codes: {text: Ask the county first., source: Larkmoor Heating & Air}`))
	require.Equal(t, &knowledge.Caution{Text: "Ask the county first.", Source: "Larkmoor Heating & Air"}, base.Cautions["local-codes"])
}

func TestANewIDIsAddedAndNothingElseMoves(t *testing.T) {
	t.Parallel()
	plain, err := shipped()
	require.NoError(t, err)
	base := overlaid(t, folder("limits/ours.yaml", `larkmoor-split-floor: {value: 14, unit: F, source: common practice}`))
	require.InDelta(t, 14, base.Limits["larkmoor-split-floor"].Value, 0)
	require.Len(t, base.Limits, len(plain.Limits)+1)
	require.Len(t, base.Faults, len(plain.Faults))
	require.NotEqual(t, plain.Version, base.Version)
}

func TestTheLastFolderWins(t *testing.T) {
	t.Parallel()
	limit := func(v string) fstest.MapFS {
		return folder("limits/ours.yaml", "larkmoor-split-floor: {value: "+v+", unit: F, source: common practice}")
	}
	require.InDelta(t, 15, overlaid(t, limit("14"), limit("15")).Limits["larkmoor-split-floor"].Value, 0)
	require.InDelta(t, 14, overlaid(t, limit("15"), limit("14")).Limits["larkmoor-split-floor"].Value, 0)
}

func TestWhichFileAnItemStandsInDoesNotMatter(t *testing.T) {
	t.Parallel()
	a := overlaid(t, folder("limits/a.yaml", "x-one: {value: 1, unit: F, source: judgement}\nx-two: {value: 2, unit: F, source: judgement}"))
	b := overlaid(t, folder("limits/a.yaml", "x-two: {value: 2, unit: F, source: judgement}", "limits/under/b.yaml", "x-one: {value: 1, unit: F, source: judgement}"))
	require.Equal(t, a.Limits, b.Limits)
}

func TestTheSameFilesHaveTheSameVersion(t *testing.T) {
	t.Parallel()
	a, err := shipped()
	require.NoError(t, err)
	require.Equal(t, a.Version, overlaid(t).Version)
	require.Equal(t, a.Version, overlaid(t, folder("README.md", "left alone", ".github/workflows/ci.yaml", "left: alone", "limits/.swap.yaml", "left: alone", "limits/notes.txt", "")).Version)
}

const lockout = `
locked-out:
  name: split cooling system with a lockout switch
  extends: split-cooling
  source: wiring label inside the panel
  facts: {delay-timer: fitted}
  nodes:
    lockout-out: {colour: yellow, place: outdoor, name: the load side of the lockout switch, common: c-od}
    y-od: {colour: white}
  components:
    - {id: lockout-switch, kind: switch, name: lockout switch, nodes: [timer-out, lockout-out], place: outdoor}
    - {id: control-wiring, nodes: [lockout-out, coil-in]}
`

func TestAnEquipmentTakesOverWhatItExtends(t *testing.T) {
	t.Parallel()
	base := overlaid(t, folder("equipment/locked-out.yaml", lockout))
	old, now := base.Wiring("split-cooling"), base.Wiring("locked-out")
	require.Len(t, now.Components, len(old.Components)+1)
	c, ok := now.Component("control-wiring")
	require.True(t, ok)
	require.Equal(t, []string{"lockout-out", "coil-in"}, c.Nodes, "what is given again is changed")
	require.Equal(t, "wire", c.Kind, "and the rest kept")
	require.Equal(t, knowledge.Node{Terminal: "Y", Colour: "white", Place: "outdoor", Name: old.Nodes["y-od"].Name, Common: "c-od"}, now.Nodes["y-od"])
	c, ok = old.Component("control-wiring")
	require.True(t, ok)
	require.Equal(t, []string{"timer-out", "coil-in"}, c.Nodes, "the equipment it came from is as it was")
	require.Len(t, base.Lineage("locked-out"), 2)
}

func TestANewPartGetsItsPointsAndItsFault(t *testing.T) {
	t.Parallel()
	base := overlaid(t, folder("equipment/locked-out.yaml", lockout))
	f := base.Faults["lockout-switch/open"]
	require.NotNil(t, f)
	require.True(t, f.Derived)
	require.Equal(t, "lockout switch stuck open", f.Name)
	require.Equal(t, map[string]string{"lockout-switch": "open"}, f.Modes)
	for _, id := range []knowledge.ReadingID{"voltage/lockout-switch-out", "voltage/across-lockout-switch", "resistance/lockout-switch"} {
		m := base.Measurements[id]
		require.NotNil(t, m, id)
		require.True(t, m.Derived)
		require.Equal(t, "outdoor", m.Place)
	}
	require.Nil(t, base.Faults["lockout-switch/closed"], "a mode without a text is nobody's fault")
}

func TestAFaultWrittenOutIsNotDerivedAgain(t *testing.T) {
	t.Parallel()
	base := overlaid(t, folder("equipment/locked-out.yaml", lockout, "faults/ours.yaml", `
lockout/held-open:
  name: lockout switch held open
  short: lockout switch
  weight: 0.2
  source: judgement
  modes: {lockout-switch: open}
  proof:
    - any-of:
        - [{reading: voltage/y-outdoor, state: calling, at-least: 20}, {reading: voltage/contactor-coil, state: calling, at-most: 3}]
  repair: Reset it, and find what locked it out.
  cautions: [local-codes]
  checks: [unit-starts]
`))
	require.NotNil(t, base.Faults["lockout/held-open"])
	require.Nil(t, base.Faults["lockout-switch/open"])
}

func TestAFigureIsResolvedFromLimitsFactsAndDefaults(t *testing.T) {
	t.Parallel()
	base, err := shipped()
	require.NoError(t, err)
	for _, c := range []struct {
		rule  string
		f     knowledge.Figure
		facts map[string]string
		want  float64
		known bool
	}{
		{"a number is itself", knowledge.Figure{Value: 15}, nil, 15, true},
		{"a limit has its value", knowledge.Figure{Name: "low-pressure-closes", Times: 1}, nil, 125, true},
		{"unless the plate says otherwise", knowledge.Figure{Name: "low-pressure-closes", Times: 1}, map[string]string{"low-pressure-cutout": "80"}, 125, true},
		{"a fact told is known", knowledge.Figure{Name: "fan-capacitor-rating", Times: 0.94, Plus: 1}, map[string]string{"fan-capacitor-rating": "10"}, 10.4, true},
		{"a fact not told is its default and not known", knowledge.Figure{Name: "fan-capacitor-rating", Times: 1}, nil, 5, false},
		{"a fact told in words is its default", knowledge.Figure{Name: "fan-capacitor-rating", Times: 1}, map[string]string{"fan-capacitor-rating": "big"}, 5, false},
		{"a name nobody knows is nothing", knowledge.Figure{Name: "no-such-name", Times: 1}, nil, 0, false},
	} {
		t.Run(c.rule, func(t *testing.T) {
			t.Parallel()
			v, known := base.Resolve(c.f, c.facts)
			require.InDelta(t, c.want, v, 1e-9)
			require.Equal(t, c.known, known)
		})
	}
}
