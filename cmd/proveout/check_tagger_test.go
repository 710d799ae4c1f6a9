package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

func TestStaleTaggerFailsTheCheckWithTheMend(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	require.NoError(t, trained(base, nil))
	base.Quantities["humidity"] = &knowledge.Quantity{Name: "humidity"}
	err = trained(base, nil)
	require.ErrorContains(t, err, "run go run ./cmd/proveout-train")
	var found finding
	require.ErrorAs(t, err, &found, "it is a finding, not a command that could not be carried out")
	require.NoError(t, trained(base, []string{"our-shop"}), "what a shop lays over needs no training")
}
