package sqlite_test

import (
	"path/filepath"
	"reflect"
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

func TestNoMethodReachesTheRecordOfAnotherShop(t *testing.T) {
	t.Parallel()
	of := reflect.TypeFor[*sqlite.Store]()
	const own = "it knows its own file alone"
	require.Empty(t, recordlaws.Untried(of, map[string]string{"Close": own, "Backup": own, "Rows": own, "Pragma": own}), "write a wall for it in recordlaws, or say why none is needed")
	for _, wall := range recordlaws.Walls() {
		if _, has := of.MethodByName(wall.Method); !has {
			continue
		}
		t.Run(wall.Method, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			require.NoError(t, wall.Check(t.Context(), open(t, filepath.Join(dir, "theirs.db")), open(t, filepath.Join(dir, "mine.db"))))
		})
	}
}
