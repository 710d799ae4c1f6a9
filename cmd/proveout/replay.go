package main

import (
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"proveout/bot"
)

func newReplay(std streams, opts *options) *cobra.Command {
	var from recordFlags
	var all bool
	cmd := &cobra.Command{
		Use:   "replay (JOB... | --all)",
		Short: "Work every answer of a job out again and compare it with the record",
		Long: `Replay takes what was said on a job through the agent again and compares each answer
with the one in the record. An answer that differs is shown. It is explained when it
was given by other knowledge than is loaded now; one that is not explained is a
finding. Jobs of which words were erased on request cannot be replayed and are said so.

` + exitHelp,
		Example: `  proveout replay --config larkmoor.yaml J-1001
  proveout replay --config larkmoor.yaml --all`,
		Args: cobra.ArbitraryArgs,
		RunE: func(cmd *cobra.Command, jobs []string) error {
			if all == (len(jobs) > 0) {
				return fmt.Errorf("name the jobs to replay, or --all")
			}
			return from.with(cmd.Context(), opts, false, func(o *opened) error {
				agent, version, err := o.agent(cmd.Context())
				if err != nil {
					return err
				}
				if all {
					if jobs, err = o.Jobs(cmd.Context()); err != nil {
						return err
					}
				}
				unexplained := 0
				for _, id := range jobs {
					events, err := o.job(cmd.Context(), id)
					if err != nil {
						return err
					}
					found, answers, err := bot.Replay(agent, version, events)
					if bot.CodeOf(err) == bot.CodeForgotten {
						fmt.Fprintf(std.out, "%s: cannot be replayed, words were erased on request\n", id)
						continue
					}
					if err != nil {
						return err
					}
					unexplained += differences(std.out, id, answers, found)
				}
				if unexplained > 0 {
					return finding(count(unexplained, "answer") + " that the knowledge version does not explain")
				}
				return nil
			})
		},
	}
	from.add(cmd)
	cmd.Flags().BoolVar(&all, "all", false, "every job in the record")
	return cmd
}

// differences shows how a job came out and counts what is not explained.
func differences(out io.Writer, id string, answers int, found []bot.Difference) int {
	unexplained := 0
	for _, d := range found {
		why := "not explained"
		if d.Explained {
			why = "other knowledge, " + d.Knowledge
		} else {
			unexplained++
		}
		fmt.Fprintf(out, "%s: answer %d differs (%s)\n", id, d.Seq, why)
		fmt.Fprintf(out, "  recorded: %s\n  now:      %s\n", strings.ReplaceAll(d.Recorded, "\n", "\n            "), strings.ReplaceAll(d.Now, "\n", "\n            "))
	}
	if len(found) == 0 {
		fmt.Fprintf(out, "%s: %s, the same as in the record\n", id, count(answers, "answer"))
	}
	return unexplained
}
