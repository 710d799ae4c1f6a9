package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), syscall.SIGINT, syscall.SIGTERM)
	defer stop()
	if err := newCommand(os.Stdout, os.Stderr).ExecuteContext(ctx); err != nil {
		stop()
		os.Exit(1)
	}
}

func newCommand(out, aside io.Writer) *cobra.Command {
	var strict bool
	var count int
	cmd := &cobra.Command{
		Use:   "proveout-bench",
		Short: "Measure every bar of scale and speed and print one table",
		Long: `Proveout-bench runs the benchmark behind each bar, one after the other, and prints a
table: the bar, what was measured, and the reference measured in the same run. What the
benchmarks say meanwhile goes to standard error. It takes some minutes, and means
something on a machine that does nothing else.`,
		Example:      "  go run ./cmd/proveout-bench\n  go run ./cmd/proveout-bench --count 3 --strict",
		Args:         cobra.NoArgs,
		SilenceUsage: true,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return run(cmd.Context(), out, aside, count, strict)
		},
	}
	cmd.Flags().BoolVar(&strict, "strict", false, "fail when a bar does not hold or was not measured")
	cmd.Flags().IntVar(&count, "count", 1, "measure each so many times and take the middle")
	return cmd
}

func run(ctx context.Context, out, aside io.Writer, count int, strict bool) error {
	here, err := newMachine()
	if err != nil {
		return err
	}
	m, failed := newMeasures(), error(nil)
	done := map[string]bool{}
	for _, b := range bars() {
		benchmark, _, _ := strings.Cut(b.measured.benchmark, "/")
		if key := b.measured.folder + " " + benchmark; !done[key] {
			done[key] = true
			failed = errors.Join(failed, m.measure(ctx, b.measured.folder, benchmark, count, aside))
		}
	}
	if ctx.Err() != nil {
		return ctx.Err()
	}
	text, all := table(bars(), m)
	where, err := here.described()
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "%s\n%s\n", text, where)
	if failed == nil && strict && !all {
		failed = errors.New("not every bar holds")
	}
	return failed
}
