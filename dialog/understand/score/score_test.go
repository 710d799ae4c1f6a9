package score_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/dialog/understand/score"
	"proveout/knowledge"
)

func reader(t *testing.T) *understand.Reader {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	r, err := understand.New(base)
	require.NoError(t, err)
	return r
}

func run(t *testing.T, file string) score.Report {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	cases, err := score.Read(f)
	require.NoError(t, err)
	rep := score.Run(reader(t), cases)
	t.Log("\n" + rep.String())
	if testing.Verbose() {
		for _, m := range rep.Misses {
			t.Logf("%s\n   %q", m.Case.Text, m.Why)
		}
	}
	return rep
}

func TestDevelopmentPart(t *testing.T) {
	t.Parallel()
	run(t, "../../../testdata/language/en-dev.jsonl")
}

func TestFrozenPart(t *testing.T) {
	t.Parallel()
	run(t, "../../../testdata/language/en-test.jsonl")
}
