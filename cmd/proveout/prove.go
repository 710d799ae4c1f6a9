package main

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
)

// proving are the flags of prove.
type proving struct {
	equipment       string
	facts           []string
	noise           float64
	games           int
	seed            uint64
	asJSON, verbose bool
	matrix          bool
}

// newProve builds the command that plays every fault against the engine.
func newProve(std streams, opts *options) *cobra.Command {
	var p proving
	cmd := &cobra.Command{
		Use:   "prove [FAULT]...",
		Short: "Play every fault against the engine and see whether it is found",
		Long: `Prove plays a technician at a machine with each fault in turn, in each of its degrees:
every question the engine asks is answered from what that machine would show. It
prints, for each fault, whether it was found, with how many questions and in how many
minutes, beside the minutes a fixed top-down flowchart takes to the same end; then
the sums, and how near the choice of tests comes to the least minutes possible on
faults that look alike on arrival.

With --noise P an answer is wrong the first time with probability P, and each fault
is played --games times.

It fails when a fault of the control or line circuits is not found (with --noise: in
less than 95 % of games), or when any part is condemned wrongly; with --noise, when
one is condemned without its proof in hand. Faults of the refrigerant and air side
are shown, and may stay undecided.

With --matrix the faults are played with both metering devices, on R-410A and R-22,
at 75, 90 and 105 °F outside. It fails there too when a moderate or severe fault of
the refrigerant and air side is not found, when a mild one is left undecided from a
fault it is not declared alike with, and when the minutes exceed half the flowchart's.

` + exitHelp,
		Example: `  proveout prove
  proveout prove --noise 0.1
  proveout prove --verbose low-pressure-switch/stuck-open
  proveout prove --fact refrigerant=R-22 --fact contactor-poles=1
  proveout prove --matrix refrigerant/undercharge refrigerant/overcharge
  proveout --knowledge ./our-shop prove --equipment our-unit --json`,
		RunE: func(_ *cobra.Command, faults []string) error {
			return p.run(std, opts.knowledge, faults)
		},
	}
	f := cmd.Flags()
	f.StringVar(&p.equipment, "equipment", "split-cooling", "the kind of machine, an `ID` under equipment/")
	f.StringArrayVar(&p.facts, "fact", nil, "a fact told about the unit, as `NAME=VALUE`; may be given more than once")
	f.Float64Var(&p.noise, "noise", 0, "answer wrongly the first time with this `PROBABILITY`, below 1")
	f.IntVar(&p.games, "games", 20, "games for each fault and degree when answers may be wrong")
	f.Uint64Var(&p.seed, "seed", 1, "what the wrong answers are drawn from")
	f.BoolVar(&p.asJSON, "json", false, "print the table as one JSON object")
	f.BoolVar(&p.verbose, "verbose", false, "print each question with its answer")
	f.BoolVar(&p.matrix, "matrix", false, "play both metering devices, two refrigerants and three weathers")
	cmd.MarkFlagsMutuallyExclusive("json", "verbose")
	cmd.MarkFlagsMutuallyExclusive("matrix", "verbose")
	return cmd
}

func (p *proving) run(std streams, dirs, faults []string) error {
	if !(p.noise >= 0 && p.noise < 1) {
		return fmt.Errorf("--noise %g is no probability below 1", p.noise)
	}
	if p.games < 1 {
		return fmt.Errorf("--games %d leaves nothing to play; give 1 or more", p.games)
	}
	base, err := loadKnowledge(dirs...)
	if err != nil {
		return err
	}
	facts, err := told(base, p.facts)
	if err != nil {
		return err
	}
	if base.Equipment[p.equipment] == nil {
		return fmt.Errorf("there is no equipment %q; name one of %s", p.equipment, strings.Join(ids(base.Equipment), ", "))
	}
	games := 1
	if p.noise > 0 {
		games = p.games
	}
	if p.matrix {
		return p.matrixOf(std, base, prove.Options{Faults: faults, Facts: facts, Noise: p.noise, Games: games, Seed: p.seed})
	}
	model, err := rules.Compile(base, p.equipment, facts)
	if err != nil {
		return err
	}
	bar := &progress{std: std}
	table, err := prove.Run(model, base, prove.Options{
		Faults: faults, Facts: facts, Noise: p.noise, Games: games, Seed: p.seed, Progress: bar.tell,
	})
	bar.end()
	if err != nil {
		return err
	}
	if err := p.print(std, base, table); err != nil {
		return err
	}
	if failures := table.Failures(); len(failures) > 0 {
		return finding(strings.Join(failures, "; "))
	}
	return nil
}

func (p *proving) print(std streams, base *knowledge.Base, table *prove.Table) error {
	if p.asJSON {
		return writeJSON(std.out, struct {
			*prove.Table
			Failures []string `json:"failures"`
		}{table, table.Failures()})
	}
	return proveTable{base: base, table: table, verbose: p.verbose}.print(std.out)
}

// told reads NAME=VALUE facts and refuses what the knowledge does not know.
func told(base *knowledge.Base, args []string) (map[string]string, error) {
	facts := map[string]string{}
	for _, arg := range args {
		name, value, ok := strings.Cut(arg, "=")
		if !ok {
			return nil, fmt.Errorf("--fact %q is not NAME=VALUE", arg)
		}
		f := base.Facts[name]
		if f == nil {
			return nil, fmt.Errorf("there is no fact %q; name one of %s", name, strings.Join(ids(base.Facts), ", "))
		}
		if err := fits(f, value); err != nil {
			return nil, fmt.Errorf("--fact %s: %w", arg, err)
		}
		facts[name] = value
	}
	return facts, nil
}

// fits says whether a fact can have a value.
func fits(f *knowledge.Fact, value string) error {
	if len(f.Values) > 0 {
		if slices.Contains(f.Values, value) {
			return nil
		}
		return fmt.Errorf("give one of %s", strings.Join(f.Values, ", "))
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil {
		return errors.New("give a number in " + f.Unit)
	}
	if f.Possible[0] < f.Possible[1] && (v < f.Possible[0] || v > f.Possible[1]) {
		return fmt.Errorf("give a number from %g to %g %s", f.Possible[0], f.Possible[1], f.Unit)
	}
	return nil
}

func ids[T any](m map[string]T) []string {
	out := make([]string, 0, len(m))
	for id := range m {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}

// patience is how long a run goes on before it shows how far it is.
const patience = time.Second

// progress is a bar on standard error, shown to a person when a run is long.
type progress struct {
	std   streams
	since time.Time
	bar   *progressbar.ProgressBar
}

func (p *progress) tell(done, total int) {
	if p.since.IsZero() {
		p.since = time.Now()
	}
	if f, ok := p.std.err.(*os.File); p.bar == nil && ok && time.Since(p.since) > patience && term.IsTerminal(int(f.Fd())) {
		p.bar = progressbar.NewOptions(total, progressbar.OptionSetWriter(p.std.err), progressbar.OptionSetDescription("playing"),
			progressbar.OptionShowCount(), progressbar.OptionClearOnFinish(), progressbar.OptionThrottle(100*time.Millisecond))
	}
	if p.bar != nil {
		_ = p.bar.Set(done) // a bar that cannot be drawn stops nothing
	}
}

func (p *progress) end() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
