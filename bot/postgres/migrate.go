package postgres

import (
	"context"
	"embed"
	"fmt"
	"io/fs"

	"github.com/jackc/pgx/v5"

	"proveout/bot"
)

// The schema's numbered steps, taken as those of the record in one file are.
//
//go:embed migrations/*.sql
var migrations embed.FS

// migrating is the lock under which one service at a time looks at the schema
// ("prvo").
const migrating = 0x7072766f

// migrate takes the schema from where it stands to the newest, all steps or none.
func migrate(ctx context.Context, c *pgx.Conn) error {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return err
	}
	return pgx.BeginFunc(ctx, c, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, "SELECT pg_advisory_xact_lock($1)", migrating); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, "CREATE TABLE IF NOT EXISTS schema_steps (version integer PRIMARY KEY, at timestamptz NOT NULL DEFAULT now())"); err != nil {
			return err
		}
		var version int
		if err := tx.QueryRow(ctx, "SELECT coalesce(max(version), 0) FROM schema_steps").Scan(&version); err != nil {
			return err
		}
		if version > len(names) {
			return &bot.Error{Code: bot.CodeInvalid, Text: fmt.Sprintf("the record was written by a newer version (schema %d, this one knows %d); use that version", version, len(names))}
		}
		for n, name := range names[version:] {
			text, err := migrations.ReadFile(name)
			if err != nil {
				return err
			}
			if _, err := tx.Exec(ctx, string(text)); err != nil {
				return fmt.Errorf("applying %s: %w", name, err)
			}
			if _, err := tx.Exec(ctx, "INSERT INTO schema_steps (version) VALUES ($1)", version+n+1); err != nil {
				return err
			}
		}
		return nil
	})
}
