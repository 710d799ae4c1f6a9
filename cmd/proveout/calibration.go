package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"proveout/bot"
	"proveout/bot/calibration"
)

func newCalibration(std streams, opts *options) *cobra.Command {
	var from recordFlags
	var svg string
	var calls, priors bool
	cmd := &cobra.Command{
		Use:   "calibration",
		Short: "Compare the probabilities given with the causes confirmed",
		Long: `Calibration goes through the closed jobs whose cause was proven by a check after the
repair or confirmed by a senior, and compares the probability the agent gave its
leading suspect at each answer with how often that was the cause. --calls counts its
calls only. --svg draws the reliability diagram.

--priors lists the causes the shop has met, beside what is published, as they count
where the configuration says learning: {on: true}: they are taken up at each start of
the service. since: under learning: begins the count anew.

` + exitHelp,
		Example: `  proveout calibration --config larkmoor.yaml
  proveout calibration --config larkmoor.yaml --calls --svg reliability.svg
  proveout calibration --config larkmoor.yaml --priors`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return from.with(cmd.Context(), opts, false, func(o *opened) error {
				if priors {
					return writePriors(cmd.Context(), std.out, o)
				}
				samples, jobs, err := o.samples(cmd.Context(), calls)
				if err != nil {
					return err
				}
				if jobs == 0 {
					fmt.Fprintln(std.out, "No job was closed with a proven cause yet.")
					return nil
				}
				bins := calibration.Bins(samples)
				fmt.Fprintf(std.out, "%s with a proven cause, %s, Brier score %.3f\n", count(jobs, "job"), count(len(samples), "answer"), calibration.Brier(samples))
				if err := calibration.WriteTable(std.out, bins); err != nil || svg == "" {
					return err
				}
				return writeFile(svg, func(w io.Writer) error { return calibration.WriteSVG(w, bins) })
			})
		},
	}
	from.add(cmd)
	cmd.Flags().BoolVar(&calls, "calls", false, "count the agent's calls only")
	cmd.Flags().BoolVar(&priors, "priors", false, "list the causes the shop has met, beside the published priors")
	cmd.Flags().StringVar(&svg, "svg", "", "draw the reliability diagram into `FILE`")
	return cmd
}

// samples takes them from every job, and says how many jobs gave any.
func (o *opened) samples(ctx context.Context, calls bool) (all []calibration.Sample, jobs int, err error) {
	ids, err := o.Jobs(ctx)
	if err != nil {
		return nil, 0, err
	}
	for _, id := range ids {
		events, err := o.job(ctx, id)
		if err != nil {
			return nil, 0, err
		}
		n := len(all)
		for _, s := range calibration.Samples(events) {
			if s.Call || !calls {
				all = append(all, s)
			}
		}
		if len(all) > n {
			jobs++
		}
	}
	return all, jobs, nil
}

func writePriors(ctx context.Context, out io.Writer, o *opened) error {
	closings, err := o.Closings(ctx)
	if err != nil {
		return err
	}
	_, met := bot.Learn(o.base, o.config.Learning, closings)
	if len(met) == 0 {
		fmt.Fprintln(out, "No job was closed with a proven cause yet.")
		return nil
	}
	t := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "cause\tjobs\tpublished\tlearned")
	for _, l := range met {
		fmt.Fprintf(t, "%s\t%d\t%.1f %%\t%.1f %%\n", l.Fault, l.Closed, 100*l.Published, 100*l.Now)
	}
	if !o.config.Learning.On {
		fmt.Fprintln(t, "Not used: learning is off in the configuration.")
	}
	return t.Flush()
}

// writeFile writes a new file, or an old one anew.
func writeFile(path string, write func(io.Writer) error) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(write(f), f.Close())
}
