package main

import (
	"fmt"
	"regexp"

	"github.com/spf13/cobra"
)

// jobName is what a job is called; anything else is a person.
var jobName = regexp.MustCompile(`^J-\d+$`)

func newForget(std streams, opts *options) *cobra.Command {
	var from recordFlags
	cmd := &cobra.Command{
		Use:   "forget (JOB | PERSON)",
		Short: "Erase a job, or a person, from the record",
		Long: `Forget erases a job with all that was said on it; or a person, by his key in the
configuration: his name, his words, his pictures and where he wrote from. The jobs he
spoke on stay, with their answers, but can no longer be replayed; they must be closed.
That a message was taken once is kept, by the channel's id of it. Backups keep what
they hold: erase or replace them too. The service must be stopped meanwhile.

` + exitHelp,
		Example: `  proveout forget --config larkmoor.yaml J-1001
  proveout forget --config larkmoor.yaml ana`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return from.with(cmd.Context(), opts, true, func(o *opened) error {
				forget := o.ForgetPerson
				if jobName.MatchString(args[0]) {
					forget = o.ForgetJob
				}
				if err := forget(cmd.Context(), args[0]); err != nil {
					return err
				}
				fmt.Fprintf(std.out, "OK %s is erased from %s\n", args[0], o.config.Record)
				return nil
			})
		},
	}
	from.add(cmd)
	return cmd
}
