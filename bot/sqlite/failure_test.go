package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

func noon() time.Time { return time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC) }

// said is an entry of one event and one message, the text as long as asked.
func said(n int64, length int) *bot.Entry {
	id := fmt.Sprint("m", n)
	k := bot.Key{Channel: "slack", ID: id}
	return &bot.Entry{
		Key: k, Stream: "J-1001", After: n - 1, At: noon(),
		Events: []bot.Event{{Kind: bot.EventSaid, At: noon(), Person: "ana", Key: k, Text: strings.Repeat("x", length)}},
		Out:    []bot.Outbound{{ID: "slack/" + id + ".0", Channel: "slack", Text: id}},
	}
}

// holds says how many events and waiting messages there are.
func holds(t *testing.T, s *sqlite.Store) (events, waiting int) {
	t.Helper()
	_, all, err := s.Read(t.Context(), "J-1001", true)
	require.NoError(t, err)
	out, err := s.Pending(t.Context())
	require.NoError(t, err)
	return len(all), len(out)
}

func TestWhatCannotBeWrittenIsRefusedWholeAndSaysWhy(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		pragma, back string
		code         bot.Code
		says         string
	}{
		"disk full":      {"max_page_count = 60", "max_page_count = 1000000", bot.CodeFull, "make room"},
		"read-only disk": {"query_only = ON", "query_only = OFF", bot.CodeReadOnly, "give the service the right"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := open(t, filepath.Join(t.TempDir(), "record.db"))
			require.NoError(t, s.Append(t.Context(), said(1, 10)))
			require.NoError(t, s.Pragma(t.Context(), c.pragma))
			err := s.Append(t.Context(), said(2, 1<<20))
			require.Equal(t, c.code, bot.CodeOf(err), "%v", err)
			require.ErrorContains(t, err, c.says)
			events, waiting := holds(t, s)
			require.Equal(t, []int{1, 1}, []int{events, waiting}, "half of it was written")
			require.NoError(t, s.Pragma(t.Context(), c.back))
			require.NoError(t, s.Append(t.Context(), said(2, 1<<20)), "sent again when there is room")
		})
	}
}

func TestALockedRecordIsRefused(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "record.db")
	s, err := sqlite.Open(t.Context(), path, sqlite.Options{Patience: 20 * time.Millisecond})
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	require.NoError(t, s.Append(t.Context(), said(1, 10)))

	_, err = sqlite.Open(t.Context(), path, sqlite.Options{})
	require.Equal(t, bot.CodeLocked, bot.CodeOf(err), "a second service: %v", err)

	other, err := sql.Open("sqlite", "file:"+path)
	require.NoError(t, err)
	defer func() { require.NoError(t, other.Close()) }()
	c, err := other.Conn(t.Context())
	require.NoError(t, err)
	_, err = c.ExecContext(t.Context(), "BEGIN IMMEDIATE")
	require.NoError(t, err)
	err = s.Append(t.Context(), said(2, 10))
	require.Equal(t, bot.CodeLocked, bot.CodeOf(err), "%v", err)
	require.ErrorContains(t, err, "another program")
	_, err = c.ExecContext(t.Context(), "ROLLBACK")
	require.NoError(t, err)
	require.NoError(t, c.Close())
	require.NoError(t, s.Append(t.Context(), said(2, 10)))
	events, waiting := holds(t, s)
	require.Equal(t, []int{2, 2}, []int{events, waiting})
}

func TestADamagedRecordIsNotOpenedAndNamesTheLastBackup(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	path, copied := filepath.Join(dir, "record.db"), filepath.Join(dir, "monday.db")
	s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.NoError(t, err)
	for n := range int64(200) {
		require.NoError(t, s.Append(t.Context(), said(n+1, 500)))
	}
	require.NoError(t, s.Backup(t.Context(), copied, noon()))
	require.NoError(t, s.Append(t.Context(), said(201, 500)), "after the backup")
	require.Error(t, s.Backup(t.Context(), copied, noon()), "nothing is overwritten")
	require.NoError(t, s.Close())

	whole, err := os.ReadFile(path)
	require.NoError(t, err)
	for name, spoil := range map[string]func([]byte){
		"its head":     func(b []byte) { copy(b, "no database at all") },
		"its middle":   func(b []byte) { copy(b[len(b)/2:], strings.Repeat("\xff", 9000)) },
		"cut in half":  nil,
		"all zeros on": func(b []byte) { clear(b[4096:]) },
	} {
		t.Run(name, func(t *testing.T) {
			b := append([]byte(nil), whole...)
			if spoil == nil {
				b = b[:len(b)/2]
			} else {
				spoil(b)
			}
			require.NoError(t, os.WriteFile(path, b, 0o600))
			_, err := sqlite.Open(t.Context(), path, sqlite.Options{})
			require.Equal(t, bot.CodeDamaged, bot.CodeOf(err), "%v", err)
			require.ErrorContains(t, err, "the last good backup is "+copied)
		})
	}
	back := open(t, copied)
	events, waiting := holds(t, back)
	require.Equal(t, []int{200, 200}, []int{events, waiting})
}

func TestWhatIsNoRecordIsNotTouched(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	made := func(name, text string) string {
		path := filepath.Join(dir, name)
		db, err := sql.Open("sqlite", "file:"+path)
		require.NoError(t, err)
		_, err = db.ExecContext(t.Context(), text)
		require.NoError(t, err)
		require.NoError(t, db.Close())
		return path
	}
	newer := filepath.Join(dir, "newer.db")
	s, err := sqlite.Open(t.Context(), newer, sqlite.Options{})
	require.NoError(t, err)
	require.NoError(t, s.Pragma(t.Context(), "user_version = 99"))
	require.NoError(t, s.Close())
	for path, code := range map[string]bot.Code{
		made("other.db", "CREATE TABLE invoices (n INTEGER)"): bot.CodeInvalid,
		newer:                                bot.CodeInvalid,
		dir:                                  bot.CodeInvalid,
		filepath.Join(dir, "no", "where.db"): bot.CodeReadOnly,
	} {
		_, err := sqlite.Open(t.Context(), path, sqlite.Options{})
		require.Equal(t, code, bot.CodeOf(err), "%s: %v", path, err)
	}
	_, err = sqlite.Open(t.Context(), filepath.Join(dir, "none.db"), sqlite.Options{ReadOnly: true})
	require.Equal(t, bot.CodeNotFound, bot.CodeOf(err))
}

func TestARecordIsLookedAtBesideTheServiceThatWritesIt(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "a record?#%20.db")
	s := open(t, path)
	require.NoError(t, s.Append(t.Context(), said(1, 10)))
	look, err := sqlite.Open(t.Context(), path, sqlite.Options{ReadOnly: true})
	require.NoError(t, err)
	defer func() { require.NoError(t, look.Close()) }()
	events, waiting := holds(t, look)
	require.Equal(t, []int{1, 1}, []int{events, waiting})
	require.Equal(t, bot.CodeReadOnly, bot.CodeOf(look.Append(context.Background(), said(2, 10))))
}
