package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"
)

func newBackup(std streams, opts *options) *cobra.Command {
	var from recordFlags
	cmd := &cobra.Command{
		Use:   "backup FILE",
		Short: "Copy the record to a new file, while the service runs",
		Long: `Backup copies the record to FILE, which must not exist yet, and looks at every page of
the copy before it counts as good. The service may go on writing. A record that is
later found damaged names the last good backup.

` + exitHelp,
		Example: `  proveout backup --config larkmoor.yaml monday.db`,
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return from.with(cmd.Context(), opts, false, func(o *opened) error {
				file, ok := o.record.(interface {
					Backup(ctx context.Context, to string, now time.Time) error
				})
				if !ok {
					return errors.New("the record is in a database; copy that with pg_dump, as deploy/RESTORE.md says")
				}
				if err := file.Backup(cmd.Context(), args[0], time.Now()); err != nil {
					return err
				}
				fmt.Fprintf(std.out, "OK %s is a sound copy of %s\n", args[0], o.config.Record)
				return nil
			})
		},
	}
	from.add(cmd)
	return cmd
}
