package main

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// newCheck builds the command that checks knowledge before it reaches the field.
func newCheck(std streams, opts *options) *cobra.Command {
	return &cobra.Command{
		Use:   "check [DIR]",
		Short: "Check the knowledge: the built-in one, or with the folder DIR laid over it",
		Long: `Check loads the knowledge and looks for every mistake in it at once: an id that
leads nowhere, a misspelt key, a figure out of place, a word for a reading nobody
can take. Each mistake is one line on standard output: file:line:column, the item,
what is wrong, and how to mend it. Then it builds the fault engine for every kind
of equipment, which fails on wiring that never settles.

` + exitHelp,
		Example: `  proveout check
  proveout check ./our-shop
  proveout --knowledge ./region check ./our-shop`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			return check(std.out, slices.Concat(opts.knowledge, args))
		},
	}
}

// check loads the folders over the embedded knowledge, puts it to every use it has,
// and says what it holds or lists the mistakes.
func check(out io.Writer, dirs []string) error {
	base, err := use(dirs)
	if mistakes, ok := errors.AsType[knowledge.Errors](err); ok {
		fmt.Fprintln(out, mistakes)
		return finding(count(len(mistakes), "mistake") + " in the knowledge")
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "OK knowledge %s: %s\n", base.Version, holdings(base))
	return nil
}

// use loads the knowledge, prepares to understand messages by it, and compiles
// the fault engine for every kind of equipment in it.
func use(dirs []string) (*knowledge.Base, error) {
	base, err := loadKnowledge(dirs...)
	if err != nil {
		return nil, err
	}
	if _, err := understand.New(base); err != nil {
		return nil, placed(err, dirs)
	}
	for _, id := range slices.Sorted(maps.Keys(base.Equipment)) {
		if _, err := rules.Compile(base, id, nil); err != nil {
			return nil, finding(fmt.Sprintf("equipment/%s cannot be diagnosed: %v", id, err))
		}
	}
	return base, nil
}

// holdings counts what a base holds, kind by kind.
func holdings(b *knowledge.Base) string {
	return strings.Join([]string{
		count(len(b.Equipment), "kind") + " of equipment",
		count(len(b.Circuits), "circuit"),
		count(len(b.Faults), "fault"),
		count(len(b.Measurements), "measurement"),
		count(len(b.Observations), "observation"),
		count(len(b.Facts), "fact"),
		count(len(b.Checks), "check"),
		count(len(b.Cautions), "caution"),
		count(len(b.Limits), "limit"),
		count(len(b.Refrigerants), "refrigerant"),
		count(len(b.Targets), "target table"),
	}, ", ")
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
