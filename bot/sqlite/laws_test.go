package sqlite_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot/recordlaws"
	"proveout/bot/sqlite"
)

// open opens a record of the test's own.
func open(t testing.TB, path string) *sqlite.Store {
	t.Helper()
	s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestEveryLawOfRecordsHolds(t *testing.T) {
	t.Parallel()
	for _, law := range recordlaws.Laws() {
		t.Run(law.Name, func(t *testing.T) {
			t.Parallel()
			require.NoError(t, law.Check(t.Context(), open(t, filepath.Join(t.TempDir(), "record.db"))))
		})
	}
}

func TestEveryLawOfPassesHolds(t *testing.T) {
	t.Parallel()
	for _, law := range recordlaws.PassLaws() {
		t.Run(law.Name, func(t *testing.T) {
			t.Parallel()
			require.NoError(t, law.Check(t.Context(), open(t, filepath.Join(t.TempDir(), "record.db"))))
		})
	}
}
