package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"proveout/bot"
)

// backupNote ends the name of the file that says which backup is the last good one:
// a damaged record cannot say it.
const backupNote = "-backup.txt"

// Backup copies the record to a file that does not exist yet, while a service may be
// writing to it, and looks at every page of the copy before it counts as good.
func (s *Store) Backup(ctx context.Context, to string, now time.Time) error {
	if _, err := os.Lstat(to); !errors.Is(err, os.ErrNotExist) {
		return &bot.Error{Code: bot.CodeInvalid, Text: "there is something at " + to + " already; name a new file", Err: err}
	}
	half := to + ".part"
	if err := os.Remove(half); err != nil && !errors.Is(err, os.ErrNotExist) {
		return s.translate("backing up", err)
	}
	if _, err := s.readers.ExecContext(ctx, "VACUUM INTO ?", half); err != nil {
		_ = os.Remove(half)
		return s.translate("backing up", err)
	}
	if err := settle(ctx, half); err != nil {
		_ = os.Remove(half)
		return s.translate("backing up", err)
	}
	if err := os.Rename(half, to); err != nil {
		return s.translate("backing up", err)
	}
	if abs, err := filepath.Abs(to); err == nil {
		to = abs
	}
	note := fmt.Sprintf("%s, of %s\n", to, now.UTC().Format("2006-01-02 15:04:05 UTC"))
	return s.translate("backing up", os.WriteFile(s.path+backupNote, []byte(note), 0o600))
}

// settle checks a copy whole and has it on the disk.
func settle(ctx context.Context, path string) error {
	db, err := sql.Open("sqlite", dsn(path, Options{ReadOnly: true}))
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	c, err := db.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = c.Close() }()
	if err := sound(ctx, c, "integrity_check(1)"); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
