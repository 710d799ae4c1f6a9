package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/sqlite"
)

func newMigrate(std streams) *cobra.Command {
	var from, to string
	cmd := &cobra.Command{
		Use:   "migrate --from FILE --to ADDRESS",
		Short: "Move a shop's record from its file into a database",
		Long: `Migrate copies everything in a record's file into a PostgreSQL database, as the shop
named behind # in its address, and compares the counts. The service must be stopped
meanwhile. Broken off, it goes on when it is run again; until it has ended well no
service answers for the shop there. The file is left as it is. Then write the address
as record: in the configuration.

A shop of that name which is there already is not touched: it is an error if it has
not as much in it as the file.

` + exitHelp,
		Example: `  proveout migrate --from larkmoor.db --to postgres://proveout@localhost/proveout#larkmoor`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			ctx := cmd.Context()
			address, shop, err := shopIn(to)
			if err != nil {
				return err
			}
			if _, err := os.Stat(from); err != nil { // opening would make it
				return fmt.Errorf("reading the record to move: %w", err)
			}
			file, err := sqlite.Open(ctx, from, sqlite.Options{})
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, file.Close()) }()
			d, err := postgres.Open(ctx, address)
			if err != nil {
				return err
			}
			defer d.Close()
			counts, err := d.Move(ctx, shop, file)
			for _, c := range counts {
				fmt.Fprintf(std.out, "%-9s %d in the file, %d in the database\n", c.Table, c.From, c.To)
			}
			if bot.CodeOf(err) == bot.CodeConflict {
				return finding(err.Error())
			}
			if err == nil {
				fmt.Fprintf(std.out, "OK %s is in the database as %s\n", from, shop)
			}
			return err
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "the record's `FILE`")
	cmd.Flags().StringVar(&to, "to", "", "the `ADDRESS` of the database and the shop, postgres://user@host/database#shop")
	cmd.MarkFlagsOneRequired("from", "to")
	cmd.MarkFlagsRequiredTogether("from", "to")
	return cmd
}
