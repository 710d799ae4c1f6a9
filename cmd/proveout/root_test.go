package main

import (
	"testing"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/require"
)

func TestEveryCommandExplainsItself(t *testing.T) {
	t.Parallel()
	root := newRoot(streams{})
	for _, c := range append([]*cobra.Command{root}, root.Commands()...) {
		t.Run(c.Name(), func(t *testing.T) {
			t.Parallel()
			require.NotEmpty(t, c.Short, "one line for the list of commands")
			require.NotEmpty(t, c.Example, "examples to copy")
			require.Contains(t, c.Long, exitHelp, "the exit codes a script may rely on")
		})
	}
}
