package ladder

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

func TestLook(t *testing.T) {
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	d, err := Draw(base, "split-cooling", Marking{})
	require.NoError(t, err)
	f, err := os.Create("/tmp/look.svg")
	require.NoError(t, err)
	require.NoError(t, d.SVG(f))
	require.NoError(t, f.Close())
}
