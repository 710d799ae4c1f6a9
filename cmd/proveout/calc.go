package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"proveout/knowledge"
	"proveout/rules/air"
	"proveout/rules/target"
)

// calculating is what every computation shares: the streams, the knowledge folders,
// and the flags.
type calculating struct {
	std      streams
	load     func() (*knowledge.Base, error)
	asJSON   bool
	altitude string
}

// computation is one command under calc.
type computation struct {
	use, short, long, example string
	least, most               int // figures it takes
	run                       func(s *sheet, args []string) (*answer, error)
}

// newCalc builds the command of the trade's computations.
func newCalc(std streams, opts *options) *cobra.Command {
	c := &calculating{std: std, load: func() (*knowledge.Base, error) { return loadKnowledge(opts.knowledge...) }}
	return c.computations()
}

// computations builds calc with a command for each computation.
func (c *calculating) computations() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "calc COMPUTATION FIGURE...",
		Short: "Compute what readings mean: superheat, wet bulb, airflow, capacitance …",
		Long: `Calc computes one thing from figures given with their units, and prints the result,
the formula and the source. A figure is a number and its unit, together or apart:
118psig, 814kPa, 914kPaa, 8bar, 64F, 18C, 50%, 4.2A, 45mfd, 20Meg. A temperature below
zero is written -4F. A figure without a unit is in the unit proveout keeps: psig, °F, V,
A, ohm, µF, in. w.c., cfm, minutes.

A pressure is what a gauge reads at --altitude, unless its unit says absolute: psia,
kPaa, bara.

With --json the fields are printed unrounded as one object; the letters after the last
_ of a name are its unit. An infinite resistance is "inf".

A verdict, such as a capacitor below its band, is an answer and ends with 0. Readings
that cannot be right together, a target nobody has published, and a charge that may
not be judged end with 1.

` + exitHelp,
		Example: `  proveout calc saturation R-410A 118psig
  proveout calc superheat R-410A 118psig 64F --altitude 5000ft
  proveout calc wetbulb 80F 50%
  proveout calc capacitor 4.2A 345V 45mfd --json`,
		SuggestionsMinimumDistance: 2,
		RunE: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return cmd.Help()
			}
			return unknownComputation(cmd, args[0])
		},
	}
	f := cmd.PersistentFlags()
	f.BoolVar(&c.asJSON, "json", false, "print the fields, unrounded, as one JSON object")
	f.StringVar(&c.altitude, "altitude", "0ft", "where it is measured, `HEIGHT` above the sea in ft or m")
	cmd.AddCommand(slices.Concat(c.refrigerantSide(), c.airSide(), c.chargeChecks(), c.electricalSide(), c.supplySide())...)
	return cmd
}

func unknownComputation(cmd *cobra.Command, name string) error {
	mend := "name one of " + strings.Join(names(cmd), ", ")
	if near := cmd.SuggestionsFor(name); len(near) > 0 {
		mend = "did you mean " + strings.Join(near, " or ") + "?"
	}
	return fmt.Errorf("there is no computation %q; %s", name, mend)
}

func names(cmd *cobra.Command) []string {
	var out []string
	for _, sub := range cmd.Commands() {
		if sub.IsAvailableCommand() {
			out = append(out, sub.Name())
		}
	}
	return out
}

// command makes a computation a command.
func (c *calculating) command(x computation) *cobra.Command {
	return &cobra.Command{
		Use:     x.use,
		Short:   x.short,
		Long:    x.long + "\n\n" + exitHelp,
		Example: x.example,
		RunE: func(_ *cobra.Command, args []string) error {
			args = joinUnits(args)
			if len(args) < x.least || len(args) > x.most {
				return fmt.Errorf("%s given; write %s", count(len(args), "figure"), x.use)
			}
			s, err := c.sheet()
			if err != nil {
				return err
			}
			a, err := x.run(s, args)
			if err != nil {
				return computed(err)
			}
			if err := a.print(c.std.out, c.asJSON); err != nil {
				return err
			}
			if len(a.doubts) > 0 {
				return finding(strings.Join(a.doubts, "; "))
			}
			return nil
		},
	}
}

// sheet loads what a computation is done with.
func (c *calculating) sheet() (*sheet, error) {
	base, err := c.load()
	if err != nil {
		return nil, err
	}
	s := &sheet{base: base}
	s.feet = s.figure("altitude", c.altitude)
	if s.err == nil {
		s.atmosphere, s.err = air.Atmosphere(s.feet)
	}
	if s.err != nil {
		return nil, fmt.Errorf("--altitude: %w", s.err)
	}
	return s, nil
}

// sheet is what one computation is done with. The first mistake in a figure stays in
// err, and all later figures are 0.
type sheet struct {
	base       *knowledge.Base
	feet       float64
	atmosphere float64 // psia
	err        error
}

// limit is a figure of the knowledge with its source, as a line under a result.
func (s *sheet) limit(names ...string) string {
	var out []string
	for _, name := range names {
		if l := s.base.Limits[name]; l != nil && !slices.Contains(out, l.Source) {
			out = append(out, l.Source)
		}
	}
	return strings.Join(out, "; ")
}

// belowZero writes the minus of figures after calc as a minus sign, which no flag
// begins with.
func belowZero(args []string) []string {
	at := slices.Index(args, "calc")
	if at < 0 {
		return args
	}
	out := slices.Clone(args)
	for i := at + 1; i < len(out); i++ {
		if after, ok := strings.CutPrefix(out[i], "-"); ok && after != "" && strings.ContainsRune("0123456789.", rune(after[0])) {
			out[i] = "−" + after
		}
	}
	return out
}

// computed turns what a computation returned into what the exit code needs: where a
// table is blank the answer is that there is no target.
func computed(err error) error {
	if none, ok := errors.AsType[*target.NoTargetError](err); ok {
		return finding(none.Error())
	}
	return err
}
