package knowledge_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"
	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

// TestMistakes loads folders made to be wrong over the shipped knowledge and
// compares everything that is said of them. `make golden` rewrites it; read the
// difference before it is committed.
func TestMistakes(t *testing.T) {
	t.Parallel()
	datadriven.RunTest(t, "testdata/mistakes", func(t *testing.T, d *datadriven.TestData) string {
		layers := []fs.FS{knowledge.Embedded()}
		for _, arg := range d.CmdArgs {
			layers = append(layers, os.DirFS(filepath.Join("testdata", arg.Key)))
		}
		_, err := knowledge.Load(layers...)
		mistakes, ok := errors.AsType[knowledge.Errors](err)
		require.True(t, ok, "a folder made to be wrong loads: %v", err)
		var b strings.Builder
		for _, m := range mistakes {
			b.WriteString(m.Error() + "\n")
			if d.Cmd == "show" && m.Excerpt() != "" {
				b.WriteString("    " + strings.ReplaceAll(m.Excerpt(), "\n", "\n    ") + "\n")
			}
		}
		return b.String()
	})
}
