package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/knowledge"
)

// A component a shop adds to a netlist is understood by its own name, with the
// readings generated for it, before anybody writes a word about it.
func TestDerivedComponentIsReadByItsName(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	base.Circuits["shop"] = &knowledge.Circuit{Components: []knowledge.Component{{ID: "door-switch", Name: "the blower door switch"}}}
	for _, id := range []knowledge.ReadingID{"voltage/door-switch-out", "voltage/across-door-switch", "resistance/door-switch"} {
		base.Measurements[id] = &knowledge.Measurement{Derived: true}
	}
	r, err := understand.New(base)
	require.NoError(t, err)
	for text, want := range map[string]string{
		"24 out of the blower door switch":      "voltage/door-switch-out 24",
		"0 after the door switch":               "voltage/door-switch-out 0",
		"24 across the blower door switch":      "voltage/across-door-switch 24",
		"door switch 0.2 ohms":                  "resistance/door-switch 0.2",
		"24 at y, nothing past the door switch": "voltage/y-outdoor 24, voltage/door-switch-out 0",
	} {
		require.Equal(t, want, show(r.Understand(text, understand.Context{})), text)
	}
}

func TestUnknownReadingOfTheLexiconIsNamedWithItsPlace(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	delete(base.Measurements, "voltage/contactor-coil")
	_, err = understand.New(base)
	require.ErrorContains(t, err, `points-electrical.yaml:`)
	require.ErrorContains(t, err, `no measurement is called "voltage/contactor-coil"`)
}
