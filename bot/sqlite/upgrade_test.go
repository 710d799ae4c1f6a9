package sqlite_test

import (
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// A file is written by each version before this one, and opened.
func TestARecordOfAnyEarlierVersionIsOpened(t *testing.T) {
	t.Parallel()
	steps, err := filepath.Glob("migrations/*.sql")
	require.NoError(t, err)
	for version := range len(steps) {
		if version == 0 { // an empty file, which every other test opens
			continue
		}
		t.Run(fmt.Sprint(version), func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "record.db")
			db, err := sql.Open("sqlite", "file:"+path)
			require.NoError(t, err)
			for _, step := range steps[:version] {
				text, err := os.ReadFile(step)
				require.NoError(t, err)
				_, err = db.ExecContext(t.Context(), string(text))
				require.NoError(t, err)
			}
			_, err = db.ExecContext(t.Context(), fmt.Sprintf("PRAGMA application_id = 0x7072766f; PRAGMA user_version = %d", version)+`;
				INSERT INTO streams (id, seq, opened) VALUES ('J-1001', 1, 1);
				INSERT INTO events (stream, seq, at, kind, person, knowledge, body) VALUES ('J-1001', 1, 1, 'opened', 'ana', 'v1', '{"text":"outdoor unit dead"}');
				INSERT INTO outbox (id, stream, at, state, body) VALUES ('m1', 'J-1001', 1, 'pending', '{"ID":"m1","Channel":"slack","Text":"heard"}')`)
			require.NoError(t, err)
			require.NoError(t, db.Close())

			s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
			require.NoError(t, err)
			t.Cleanup(func() { require.NoError(t, s.Close()) })
			_, events, err := s.Read(t.Context(), "J-1001", true)
			require.NoError(t, err)
			require.Equal(t, "outdoor unit dead", events[0].Text)
			waiting, err := s.Pending(t.Context())
			require.NoError(t, err)
			require.Len(t, waiting, 1)
			if version < 4 { // since then the version that wrote it wrote its words too
				found, err := s.Find(t.Context(), []string{"dead"}, 10)
				require.NoError(t, err)
				require.Equal(t, []string{"J-1001"}, found)
			}
			require.NoError(t, s.Append(t.Context(), &bot.Entry{Stream: "J-1001", After: 1, At: events[0].At, Words: "cap", Events: []bot.Event{{Kind: bot.EventSaid, At: events[0].At}}}))
		})
	}
}
