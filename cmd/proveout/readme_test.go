package main

import (
	"os"
	"regexp"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

// TestReadmeWiringIsAllAUnitNeeds loads the README's example of a unit's wiring as
// it stands there, and wants the fault and the points it promises, diagnosed.
func TestReadmeWiringIsAllAUnitNeeds(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	example := regexp.MustCompile("(?s)```yaml\n(.*?)```").FindSubmatch(readme)
	require.NotNil(t, example, "the README shows a unit's wiring as yaml")

	shop := fstest.MapFS{"equipment/split-with-lockout.yaml": {Data: example[1]}}
	base, err := knowledge.Load(knowledge.Embedded(), shop)
	require.NoError(t, err)
	require.Contains(t, base.Faults, "lockout-switch/open")
	require.Contains(t, base.Measurements, knowledge.ReadingID("voltage/lockout-switch-out"))
	require.Contains(t, base.Measurements, knowledge.ReadingID("voltage/across-lockout-switch"))

	model, err := rules.Compile(base, "split-with-lockout", nil)
	require.NoError(t, err)
	require.Contains(t, model.Faults(), "lockout-switch/open")
}
