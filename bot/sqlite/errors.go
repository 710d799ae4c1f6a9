package sqlite

import (
	"context"
	"errors"
	"os"
	"strings"

	driver "modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"

	"proveout/bot"
)

// translate turns the database's error into one with a code and a sentence; doing
// says what was being done. An error that has a code passes through.
func (s *Store) translate(doing string, err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*bot.Error](err); ok {
		return e
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	if d, ok := errors.AsType[*damage](err); ok {
		return &bot.Error{Code: bot.CodeDamaged, Text: doing + " the record " + s.path + ": the file is damaged; " + s.lastBackup(), Err: d}
	}
	out := &bot.Error{Code: bot.CodeInternal, Text: doing + " the record " + s.path, Err: err}
	e, ok := errors.AsType[*driver.Error](err)
	if !ok {
		return out
	}
	switch e.Code() & 0xff {
	case lib.SQLITE_FULL:
		out.Code, out.Text = bot.CodeFull, doing+" the record "+s.path+": the disk is full; nothing was written, make room and send it again"
	case lib.SQLITE_READONLY, lib.SQLITE_PERM:
		out.Code, out.Text = bot.CodeReadOnly, doing+" the record "+s.path+": it cannot be written; give the service the right to write the file and its folder"
	case lib.SQLITE_CANTOPEN:
		out.Code, out.Text = bot.CodeReadOnly, doing+" the record "+s.path+": it cannot be opened; its folder must exist and be writable"
	case lib.SQLITE_BUSY, lib.SQLITE_LOCKED:
		out.Code, out.Text = bot.CodeLocked, doing+" the record "+s.path+": another program is writing to it; stop that one and try again"
	case lib.SQLITE_CORRUPT, lib.SQLITE_NOTADB:
		out.Code, out.Text = bot.CodeDamaged, doing+" the record "+s.path+": the file is damaged; "+s.lastBackup()
	}
	return out
}

// lastBackup says what to go back to.
func (s *Store) lastBackup() string {
	b, err := os.ReadFile(s.path + backupNote)
	if err != nil {
		return "no backup is known"
	}
	return "the last good backup is " + strings.TrimSpace(string(b))
}
