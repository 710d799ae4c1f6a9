package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"
	"strconv"
	"strings"

	"proveout/bot"
)

// The schema's numbered steps. A migration library would bring drivers, a table of
// its own and ways down that a record never takes; user_version and a loop do.
//
//go:embed migrations/*.sql
var migrations embed.FS

// application marks the file as ours ("prvo").
const application = 0x7072766f

// migrate takes the file's schema from where it stands to the newest, each step in a
// transaction of its own.
func migrate(ctx context.Context, db *sql.Conn) error {
	var id, version int
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return err
	}
	if err := db.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return err
	}
	var tables int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	if id != application && tables > 0 {
		return &bot.Error{Code: bot.CodeInvalid, Text: "the file is a database of something else; name another file for the record"}
	}
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return err
	}
	if version > len(names) {
		return &bot.Error{Code: bot.CodeInvalid, Text: fmt.Sprintf("the record was written by a newer version (schema %d, this one knows %d); use that version", version, len(names))}
	}
	for n, name := range names[version:] {
		if err := step(ctx, db, name, version+n+1); err != nil {
			return err
		}
	}
	return nil
}

func step(ctx context.Context, db *sql.Conn, name string, number int) error {
	if want := fmt.Sprintf("migrations/%04d_", number); !strings.HasPrefix(name, want) {
		return fmt.Errorf("the migration %s is not number %d", name, number)
	}
	text, err := migrations.ReadFile(name)
	if err != nil {
		return err
	}
	tx, err := db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback() }() // after a commit it does nothing
	for _, s := range []string{string(text), "PRAGMA application_id = " + strconv.Itoa(application), "PRAGMA user_version = " + strconv.Itoa(number)} {
		if _, err := tx.ExecContext(ctx, s); err != nil {
			return fmt.Errorf("applying %s: %w", name, err)
		}
	}
	return tx.Commit()
}
