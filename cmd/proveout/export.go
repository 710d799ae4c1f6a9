package main

import (
	"cmp"
	"strings"

	"github.com/spf13/cobra"

	"proveout/bot"
	"proveout/bot/report"
)

func newExport(std streams, opts *options) *cobra.Command {
	var from recordFlags
	var format, language string
	cmd := &cobra.Command{
		Use:   "export JOB",
		Short: "Write a job out: what was found, by what proof, and all that was said",
		Long: `Export writes a job to standard output: for people as Markdown or as a page to print,
for the customer and the file; for programs as JSON or, a line said a row, CSV. It may
run while the service does. What people said stands as they said it; all else is in the
language of the shop, or the one named.

` + exitHelp,
		Example: `  proveout export --config larkmoor.yaml J-1001
  proveout export --config larkmoor.yaml --format html J-1001 > J-1001.html`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			return from.with(cmd.Context(), opts, false, func(o *opened) error {
				events, err := o.job(cmd.Context(), args[0])
				if err != nil {
					return err
				}
				zone, err := o.config.Location()
				if err != nil {
					return err
				}
				language, err := spoken(o.base, cmp.Or(language, o.config.Language))
				if err != nil {
					return err
				}
				agent, _, err := o.agent(cmd.Context())
				if err != nil {
					return err
				}
				told, err := bot.Retold(agent, language, events)
				if err != nil && bot.CodeOf(err) != bot.CodeForgotten { // what is left stands as it was said
					return err
				}
				return report.New(agent.Words(language), o.config, zone, events, told).Write(std.out, format)
			})
		},
	}
	from.add(cmd)
	cmd.Flags().StringVar(&language, "language", "", "the `TAG` of the language it is in (the shop's)")
	cmd.Flags().StringVar(&format, "format", "markdown", "one of "+strings.Join(report.Formats(), ", "))
	return cmd
}
