package rules_test

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

// withFault compiles the split cooling system with a file of faults over it.
func withFault(t *testing.T, text string) *rules.Model {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded(), fstest.MapFS{"faults/ours.yaml": {Data: []byte(text)}})
	require.NoError(t, err)
	m, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	return m
}

const rest = `, short: ours, weight: 1, source: judgement, repair: Mend it., cautions: [local-codes], checks: [full-cycle]}`

func TestEveryShippedFaultStandsApartAndMeetsItsProof(t *testing.T) {
	t.Parallel()
	_, m := splitCooling(t)
	require.Empty(t, m.Indistinct())
	require.Empty(t, m.Unprovable())
}

func TestFaultsThatShowTheSameAreTwins(t *testing.T) {
	t.Parallel()
	m := withFault(t, `ours/fault: {name: a fault like another, variants: [{share: 0.5, modes: {fan-main: open}}, {share: 0.5, modes: {contactor-coil: open}}], proof: [{any-of: [[{reading: resistance/contactor-coil, at-least: 1.0e+6}], [{reading: current/outdoor-fan, state: calling, at-most: 1}]]}]`+rest)
	require.Equal(t, []rules.Twins{
		{A: "contactor-coil/open", B: "ours/fault", DegreeB: 1},
		{A: "ours/fault", B: "outdoor-fan-motor/open"},
	}, m.Indistinct(), "each in the degree that is the same")
}

func TestOneObservationIsEnoughToTellTwoFaultsApart(t *testing.T) {
	t.Parallel()
	m := withFault(t, `ours/fault: {name: a fault that shows, modes: {contactor-coil: open}, shows: {wiring: {burnt: 0.5, good: 0.5}}, proof: [{any-of: [[{observation: wiring, is: burnt}]]}]`+rest)
	require.Empty(t, m.Indistinct())
	require.Empty(t, m.Unprovable())
}

func TestAProofTheFaultWouldNotShowIsFound(t *testing.T) {
	t.Parallel()
	for rule, c := range map[string]struct {
		proof string
		want  []rules.Unprovable
	}{
		"a reading on the other side of its bound":      {`[{reading: capacitance/fan-capacitor, at-least: 4.9}]`, []rules.Unprovable{{Fault: "ours/fault"}}},
		"both bounds, and it lies between":              {`[{reading: capacitance/fan-capacitor, at-least: 2.5, at-most: 3.5}]`, nil},
		"one way of two will do":                        {`[{reading: voltage/r-after-fuse, state: calling, at-most: 3}], [{reading: capacitance/fan-capacitor, at-most: 4}]`, nil},
		"but all findings of a way are wanted":          {`[{reading: voltage/r-after-fuse, state: calling, at-most: 3}, {reading: capacitance/fan-capacitor, at-most: 4}]`, []rules.Unprovable{{Fault: "ours/fault"}}},
		"what nobody is asked for proves nothing":       {`[{observation: low-pressure-switch, is: reset}]`, []rules.Unprovable{{Fault: "ours/fault"}}},
		"a part that is not fitted is not asked about":  {`[{reading: voltage/delay-timer-out, state: calling, at-most: 3}]`, nil},
		"a closed part reads nothing on a log scale":    {`[{reading: resistance/low-pressure-switch, at-most: 5}]`, nil},
		"an observation that is hardly ever seen of it": {`[{observation: compressor-shell, is: hot}], [{observation: wiring, is: burnt}]`, nil},
	} {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			m := withFault(t, `ours/fault: {name: ours, modes: {fan-capacitor: weak}, shows: {wiring: {burnt: 0.03, good: 0.97}}, proof: [{any-of: [`+c.proof+`]}]`+rest)
			require.Equal(t, c.want, m.Unprovable())
		})
	}
}
