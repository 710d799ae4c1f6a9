package main

import (
	"context"
	"errors"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"proveout/bot/postgres/postgrestest"
)

// TestMain lets the scripts run the program itself under its own name.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"proveout": main})
}

// TestScripts runs the binary as a shell would: testdata/script, one subject a
// file. `make golden` rewrites the expected output; read the difference before it
// is committed, in a commit of its own.
func TestScripts(t *testing.T) {
	t.Parallel()
	tree, err := filepath.Abs("../..")
	require.NoError(t, err)
	testscript.Run(t, testscript.Params{
		Setup: func(e *testscript.Env) error {
			e.Setenv("TREE", tree)
			return nil
		},
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       os.Getenv("UPDATE_SCRIPTS") != "",
		Condition: func(what string) (bool, error) {
			if what != "postgres" {
				return false, errors.New("there is no condition " + what)
			}
			return postgrestest.Installed() || os.Getenv("CI") == "true", nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"repeat": repeat,
			"lines":  lines,
			"exits":  exits,

			"postgres": database,
			"runbook":  runbook,
		},
	})
}

// database names in a variable the address of a shop in an empty database, of a server
// that lives as long as the script; and in VARIABLE_DATABASE that of the database for
// its superuser, in VARIABLE_OWNER the role that owns it: postgres VARIABLE SHOP.
func database(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: postgres VARIABLE SHOP")
	}
	server, err := postgrestest.Start(context.Background())
	ts.Check(err)
	ts.Defer(func() { ts.Check(server.Stop()) })
	address, err := server.Database(context.Background())
	ts.Check(err)
	ts.Setenv(args[0], address+"#"+args[1])
	of, err := url.Parse(address)
	ts.Check(err)
	ts.Setenv(args[0]+"_DATABASE", server.Superuser(of.Path[1:]))
	ts.Setenv(args[0]+"_OWNER", of.User.Username())
}

// runbook runs the commands under a heading of a document: runbook FILE HEADING.
func runbook(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: runbook FILE HEADING")
	}
	text, err := os.ReadFile(args[0])
	ts.Check(err)
	_, section, found := strings.Cut(string(text), "\n## "+args[1]+"\n")
	if !found {
		ts.Fatalf("%s has no heading %q", args[0], args[1])
	}
	section, _, _ = strings.Cut(section, "\n## ")
	blocks := regexp.MustCompile("(?s)```sh\n(.*?)```").FindAllStringSubmatch(section, -1)
	if len(blocks) == 0 {
		ts.Fatalf("there is nothing to run under %q", args[1])
	}
	for _, b := range blocks {
		ts.Check(ts.Exec("sh", "-euc", b[1]))
	}
}

// repeat writes a file of one text many times over, with no line end: repeat FILE TEXT TIMES.
func repeat(ts *testscript.TestScript, _ bool, args []string) {
	if len(args) != 3 {
		ts.Fatalf("usage: repeat FILE TEXT TIMES")
	}
	times, err := strconv.Atoi(args[2])
	ts.Check(err)
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(strings.Repeat(args[1], times)), 0o600))
}

// lines wants a file (or stdout, stderr) to hold so many lines: lines FILE N.
func lines(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: lines FILE N")
	}
	if got := strconv.Itoa(strings.Count(ts.ReadFile(args[0]), "\n")); got != args[1] {
		ts.Fatalf("%s holds %s lines, want %s", args[0], got, args[1])
	}
}

// exits wants a program to end with a code: exits CODE PROGRAM ARGS…. What it
// printed stays in stdout and stderr.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARGS...")
	}
	err := ts.Exec(args[1], args[2:]...)
	var ended *exec.ExitError
	if err != nil && !errors.As(err, &ended) {
		ts.Check(err)
	}
	code := 0
	if ended != nil {
		code = ended.ExitCode()
	}
	if strconv.Itoa(code) != args[0] {
		ts.Fatalf("%v ended with %d, want %s", args[1:], code, args[0])
	}
}
