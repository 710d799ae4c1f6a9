package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"

	"github.com/spf13/cobra"

	"proveout/knowledge"
)

// The exit codes, which a shell script may rely on.
const (
	exitOK      = 0
	exitFinding = 1 // the command did its work and found something failing
	exitUsage   = 2 // the command could not be carried out as asked
)

// exitHelp is the part of the help that documents the exit codes.
const exitHelp = `Exit codes:
  0  all is well
  1  the command did its work and found something failing: a mistake in the
     knowledge, a line that could not be read, a fault that was not found
  2  the command could not be carried out as asked: an unknown command or flag,
     a file or folder that cannot be read`

// streams are where a command reads and writes.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

// options are the flags every command shares.
type options struct {
	// knowledge are the folders laid over the embedded knowledge, in order.
	knowledge []string
}

// finding is what a command that worked has found to be failing.
type finding string

func (f finding) Error() string { return string(f) }

// run carries out one command line and gives the exit code.
func run(ctx context.Context, args []string, std streams) int {
	root := newRoot(std)
	root.SetArgs(belowZero(args))
	ran, err := root.ExecuteContextC(ctx)
	code := exitCode(err)
	if err != nil {
		fmt.Fprintf(std.err, "proveout: %v\n", err)
	}
	if code == exitUsage {
		fmt.Fprintf(std.err, "See '%s --help'.\n", ran.CommandPath())
	}
	return code
}

// exitCode turns what a command returned into what the shell is told.
func exitCode(err error) int {
	if err == nil {
		return exitOK
	}
	_, found := errors.AsType[finding](err)
	_, mistakes := errors.AsType[knowledge.Errors](err)
	if found || mistakes {
		return exitFinding
	}
	return exitUsage
}

// newRoot builds the command tree. A new command is one file with a constructor
// and one line here.
func newRoot(std streams) *cobra.Command {
	var opts options
	root := &cobra.Command{
		Use:   "proveout",
		Short: "Find the fault in an air conditioner before a part is changed",
		Long: `Proveout asks the technician at a broken air conditioner for the one reading worth
taking next, says what the readings so far prove and rule out, and makes the call
when the evidence is in.

` + exitHelp,
		Example: `  proveout check ./our-shop
  echo "24 at the yellow, nothing past the low pressure switch" | proveout understand
  proveout --knowledge ./our-shop check`,
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetIn(std.in)
	root.SetOut(std.out)
	root.SetErr(std.err)
	root.PersistentFlags().StringArrayVar(&opts.knowledge, "knowledge", nil,
		"lay the knowledge folder `DIR` over the built-in one; may be given more than once, the later wins")
	root.AddCommand(
		newBackup(std, &opts),
		newCalc(std, &opts),
		newCalibration(std, &opts),
		newChat(std, &opts),
		newCheck(std, &opts),
		newDraw(std, &opts),
		newExport(std, &opts),
		newForget(std, &opts),
		newMigrate(std),
		newProve(std, &opts),
		newReplay(std, &opts),
		newServe(std, &opts),
		newUnderstand(std, &opts),
	)
	return root
}

// version says what was built: the module's version, the commit where the build
// recorded it, and the Go it was built with.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	if v == "" || v == "(devel)" {
		v = "devel"
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			v += " " + s.Value
		}
	}
	return v + " " + info.GoVersion
}
