package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"proveout/dialog/tagger"
	"proveout/dialog/understand"
	"proveout/knowledge"
)

// newCheck builds the command that checks knowledge before it reaches the field.
func newCheck(std streams, opts *options) *cobra.Command {
	var warnings bool
	var configs []string
	cmd := &cobra.Command{
		Use:   "check [--config FILE... | DIR]",
		Short: "Check the knowledge: the built-in one, or with the folder DIR laid over it",
		Long: `Check loads the knowledge and looks for every mistake in it at once: an id that
leads nowhere, a misspelt key, a figure out of place, a word for a reading nobody
can take. Then it builds the fault engine for every kind of equipment, which fails on
wiring that never settles, and looks for faults that could never be called, faults
nothing tells apart, and readings whose answer would not be understood.

Each mistake is one line on standard output: file:line:column, the item, what is
wrong, and how to mend it. Under it stands the line itself, indented, with a caret.

A warning is no mistake: the words of a point that are not understood by themselves
when nobody asked for it. --warnings lists them.

With --config the shop's configuration is checked against the knowledge instead: its
people, channels, policy, and where its secrets are kept, and the knowledge with the
folder laid over it that the configuration names. Several are checked against each
other too: no two may have the same record, number, host name or secret. No secret is
read.

` + exitHelp,
		Example: `  proveout check
  proveout check ./our-shop
  proveout check --warnings ./our-shop
  proveout check --config larkmoor.yaml
  proveout --knowledge ./region check ./our-shop`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			if len(configs) > 0 {
				return checkConfigs(std.out, configs, slices.Concat(opts.knowledge, args))
			}
			return check(std.out, slices.Concat(opts.knowledge, args), warnings)
		},
	}
	cmd.Flags().StringArrayVar(&configs, "config", nil, "check a shop's configuration, a YAML `FILE`, or a folder of them; may be given more than once")
	cmd.Flags().BoolVar(&warnings, "warnings", false, "list the warnings too")
	return cmd
}

// check loads the folders over the embedded knowledge, puts it to every use it has,
// and says what it holds or lists the mistakes.
func check(out io.Writer, dirs []string, listed bool) error {
	base, warnings, err := use(dirs)
	if mistakes, ok := errors.AsType[knowledge.Errors](err); ok {
		list(out, mistakes)
		return finding(count(len(mistakes), "mistake") + " in the knowledge")
	}
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "OK knowledge %s: %s\n", base.Version, holdings(base))
	if listed {
		list(out, warnings)
	} else if len(warnings) > 0 {
		fmt.Fprintf(out, "%s, which --warnings lists\n", count(len(warnings), "warning"))
	}
	return nil
}

// checkConfigs checks the configurations of an installation against the knowledge and
// against each other.
func checkConfigs(out io.Writer, paths, dirs []string) error {
	shops, err := readShops(paths, newLibrary(dirs))
	for _, s := range shops {
		if err == nil && s.config.Knowledge != "" {
			_, _, err = use(s.over)
		}
	}
	if mistakes, ok := errors.AsType[knowledge.Errors](err); ok {
		list(out, mistakes)
		return finding(count(len(mistakes), "mistake") + " in the configuration")
	}
	if err != nil {
		return err
	}
	for _, s := range shops {
		people := "1 person"
		if n := len(s.config.People); n != 1 {
			people = fmt.Sprintf("%d people", n)
		}
		fmt.Fprintf(out, "OK %s: %s, %s, record %s\n", s.config.Shop, people, count(len(s.config.Channels), "channel"), s.config.Record)
	}
	return nil
}

// list writes mistakes a line each, the line they are in under them.
func list(out io.Writer, mistakes knowledge.Errors) {
	for _, m := range mistakes {
		fmt.Fprintln(out, m)
		if text := m.Excerpt(); text != "" {
			fmt.Fprintln(out, "    "+strings.ReplaceAll(text, "\n", "\n    "))
		}
	}
}

// use loads the knowledge and puts it to its uses: messages are understood by it,
// and faults found.
func use(dirs []string) (base *knowledge.Base, warnings knowledge.Errors, err error) {
	base, err = loadKnowledge(dirs...)
	if err != nil {
		return nil, nil, err
	}
	reader, err := understand.New(base)
	if err != nil {
		return nil, nil, placed(err, dirs)
	}
	if err := trained(base, dirs); err != nil {
		return nil, nil, err
	}
	units, err := compile(base)
	if err != nil {
		return nil, nil, err
	}
	mistakes, warnings := wordMistakes(base, reader, units)
	if mistakes = append(mistakes, faultMistakes(base, units)...); len(mistakes) > 0 {
		return nil, nil, placed(mistakes, dirs)
	}
	warnings, _ = errors.AsType[knowledge.Errors](placed(warnings, dirs))
	return base, warnings, nil
}

// trained tells whether the tagger was trained for the built-in knowledge. What a
// shop lays over it needs no training: the lexicon reads it first, and the tagger
// knows words by their letters.
func trained(base *knowledge.Base, dirs []string) error {
	if len(dirs) > 0 {
		return nil
	}
	m, err := tagger.Embedded()
	if err != nil {
		return err
	}
	if err := m.Check(base); err != nil {
		return finding(err.Error())
	}
	return nil
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
