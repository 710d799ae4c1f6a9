// Package proveout_test holds the laws of the whole tree: what may import what
// and why, how packages are named and documented, and what never gets committed.
// Each law says its reason when it is broken.
package proveout_test

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// module is the path every import of the house begins with.
const module = "proveout"

// file is one Go file of the tree.
type file struct {
	path    string // from the root, with slashes
	dir     string // its package's folder; "." for the root
	test    bool
	lines   int
	syntax  *ast.File
	imports []string
}

// tree parses every Go file outside testdata and hidden folders.
func tree(t *testing.T) []file {
	t.Helper()
	var files []file
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		switch name := d.Name(); {
		case err != nil:
			return err
		case d.IsDir() && p != "." && (name == "testdata" || name[0] == '.' || name[0] == '_'):
			return filepath.SkipDir
		case !d.IsDir() && strings.HasSuffix(p, ".go"):
			files = append(files, parse(t, filepath.ToSlash(p)))
		}
		return nil
	})
	require.NoError(t, err)
	return files
}

func parse(t *testing.T, name string) file {
	t.Helper()
	src, err := os.ReadFile(name)
	require.NoError(t, err)
	syntax, err := parser.ParseFile(token.NewFileSet(), name, src, parser.ParseComments)
	require.NoError(t, err)
	f := file{path: name, dir: path.Dir(name), test: strings.HasSuffix(name, "_test.go"), lines: bytes.Count(src, []byte("\n")), syntax: syntax}
	for _, spec := range syntax.Imports {
		imported, err := strconv.Unquote(spec.Path.Value)
		require.NoError(t, err)
		f.imports = append(f.imports, imported)
	}
	return f
}

// within reports whether a path is a folder or lies in it.
func within(p, folder string) bool {
	return p == folder || strings.HasPrefix(p, folder+"/")
}

// broken fails the test with every breach of a law, and the law's reason once.
func broken(t *testing.T, breaches []string, reason string) {
	t.Helper()
	slices.Sort(breaches)
	require.Empty(t, breaches, reason)
}

// room is a top folder that holds packages: what else of the house it may import,
// and why no more.
type room struct {
	may []string
	why string
}

// rooms lists the top folders by name; "." is the root.
func rooms() map[string]room {
	return map[string]room{
		".":         {nil, "the root holds only the laws of the tree"},
		"knowledge": {nil, "the trade as data knows nobody, so that anything may read it"},
		"rules":     {[]string{"knowledge"}, "the engine knows no conversation: the same record gives the same answer whoever asks"},
		"dialog":    {[]string{"rules", "knowledge"}, "a reply can be recomputed from the record, so it knows no service and no channel"},
		"bot":       {[]string{"dialog", "rules", "knowledge"}, "the service declares what it needs of channels and stores and knows none of them"},
		"adapters":  {[]string{"bot"}, "an adapter carries a message in and a message out, decides nothing, and never meets another"},
		"cmd":       {[]string{"adapters", "bot", "dialog", "rules", "knowledge"}, "commands wire the house and nobody builds on them"},
	}
}

func TestImportsRunOneWayThroughTheHouse(t *testing.T) {
	t.Parallel()
	for _, f := range tree(t) {
		home, _, _ := strings.Cut(f.dir, "/")
		lives, ok := rooms()[home]
		require.True(t, ok, "%s: %s is no room of the house; see the layout in DEVELOPERS.md", f.path, home)
		for _, imported := range f.imports {
			ours, ok := strings.CutPrefix(imported, module+"/")
			if !ok || sameAdapter(f.dir, ours) || f.test && within(f.dir, "adapters") && slices.Contains(harnesses(), ours) {
				continue
			}
			to, _, _ := strings.Cut(ours, "/")
			own := to == home && home != "adapters"
			require.True(t, own || slices.Contains(lives.may, to), "%s imports %s, but %s", f.path, ours, lives.why)
		}
	}
}

// sameAdapter reports whether both folders belong to one adapter; two adapters
// never meet, but in the laws they share.
func sameAdapter(a, b string) bool {
	if !within(a, "adapters") || !within(b, "adapters") {
		return false
	}
	return strings.Split(a+"//", "/")[1] == strings.Split(b+"//", "/")[1]
}

// harnesses are the packages that only tests import: the laws adapters or records share,
// and the fakes of outside networks.
func harnesses() []string {
	return []string{"adapters/conformance", "adapters/slack/slacktest", "adapters/sms/smstest", "bot/recordlaws", "bot/postgres/postgrestest"}
}

func TestHarnessesStayInTests(t *testing.T) {
	t.Parallel()
	var breaches []string
	for _, f := range tree(t) {
		for _, imported := range f.imports {
			if ours, ok := strings.CutPrefix(imported, module+"/"); ok && !f.test && slices.Contains(harnesses(), ours) {
				breaches = append(breaches, f.path+" imports "+ours)
			}
		}
	}
	broken(t, breaches, "a fake network ends up in the binary technicians run")
}

// outside gives the import paths the deciding packages must not reach, and why.
func outside() map[string]string {
	const record = "what is between message and reply is a function of the record alone; take it as an argument"
	return map[string]string{
		"time":        "no clock: " + record,
		"math/rand":   "no randomness: " + record,
		"crypto/rand": "no randomness: " + record,
		"context":     "nothing here waits, so nothing can be cancelled",
		"net":         "no network: " + record,
		"os":          "no files and no environment: " + record,
		"io/ioutil":   "no files: " + record,
		"syscall":     "no system: " + record,
		"database":    "no store: " + record,
		"log":         "nothing to log: what there is to say is in the result",
		"unsafe":      "nothing here is worth it",
	}
}

// excuses are the exceptions to outside: folder, import, reason.
func excuses() map[string]map[string]string {
	return map[string]map[string]string{
		"rules/prove": {"math/rand/v2": "it plays a technician who misreads, from a seed: a game can be played again bit for bit"},
	}
}

func TestDecidingPackagesReachNothingOutside(t *testing.T) {
	t.Parallel()
	var breaches []string
	for _, f := range tree(t) {
		if f.test || !pure(f.dir) {
			continue
		}
		for _, imported := range f.imports {
			for banned, why := range outside() {
				if within(imported, banned) && excuses()[f.dir][imported] == "" {
					breaches = append(breaches, fmt.Sprintf("%s imports %s: %s", f.path, imported, why))
				}
			}
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			if _, ok := n.(*ast.GoStmt); ok {
				breaches = append(breaches, f.path+" starts a goroutine")
			}
			return true
		})
	}
	broken(t, breaches, "knowledge, rules and dialog are pure: the same record gives the same reply, bit for bit")
}

func pure(dir string) bool {
	return within(dir, "knowledge") || within(dir, "rules") || within(dir, "dialog")
}

func TestTestingLibrariesStayInTests(t *testing.T) {
	t.Parallel()
	var breaches []string
	for _, f := range tree(t) {
		for _, imported := range f.imports {
			switch {
			case imported == "github.com/stretchr/testify/assert", imported == "github.com/stretchr/testify/mock":
				breaches = append(breaches, f.path+" imports "+imported+": use require, and a fake instead of a mock")
			case !f.test && slices.ContainsFunc(testingOnly(), func(p string) bool { return within(imported, p) }):
				breaches = append(breaches, f.path+" imports "+imported)
			}
		}
	}
	broken(t, breaches, "a testing library outside a test ends up in the binary technicians run")
}

func testingOnly() []string {
	return []string{
		"testing", "github.com/stretchr/testify", "github.com/rogpeppe/go-internal",
		"github.com/cockroachdb/datadriven", "pgregory.net/rapid", "net/http/httptest",
	}
}

// What trains is heavy and answers slowly; what answers reads its weights alone.
func TestTheTrainingLibraryStaysOutOfTheBinary(t *testing.T) {
	t.Parallel()
	const library, trainer = "github.com/nlpodyssey/spago", "cmd/proveout-train"
	var breaches []string
	for _, f := range tree(t) {
		for _, imported := range f.imports {
			if within(imported, library) && f.dir != trainer {
				breaches = append(breaches, f.path+" imports "+imported)
			}
		}
	}
	deps, err := exec.CommandContext(t.Context(), "go", "list", "-deps", "./cmd/proveout").Output()
	require.NoError(t, err)
	for imported := range strings.Lines(string(deps)) {
		if imported = strings.TrimSpace(imported); within(imported, library) || imported == module+"/"+trainer {
			breaches = append(breaches, "cmd/proveout links "+imported)
		}
	}
	broken(t, breaches, "the binary technicians run answers by plain slices; training is a command of its own")
}

func TestEveryPackageHasExactlyOneComment(t *testing.T) {
	t.Parallel()
	comments := map[string][]string{}
	for _, f := range tree(t) {
		if f.test && f.dir != "." {
			continue
		}
		in := comments[f.dir]
		if f.syntax.Doc != nil {
			in = append(in, f.path)
		}
		comments[f.dir] = in
	}
	var breaches []string
	for dir, in := range comments {
		if len(in) != 1 {
			breaches = append(breaches, fmt.Sprintf("%s has %d: %v", dir, len(in), in))
		}
	}
	broken(t, breaches, "one package comment says what a package is for and its one law; two drift apart")
}

func TestEveryExportedNameIsDocumented(t *testing.T) {
	t.Parallel()
	var breaches []string
	for _, f := range tree(t) {
		if f.test || f.syntax.Name.Name == "main" {
			continue
		}
		for _, name := range undocumented(f.syntax) {
			breaches = append(breaches, f.path+": "+name)
		}
	}
	broken(t, breaches, "an exported name says what it is, its units and its errors; or it need not be exported")
}

// undocumented lists the exported names of a file without a comment. A comment on
// a group counts for its constants and variables.
func undocumented(f *ast.File) []string {
	var names []string
	missing := func(id *ast.Ident, docs ...*ast.CommentGroup) {
		if id.IsExported() && !slices.ContainsFunc(docs, func(d *ast.CommentGroup) bool { return d != nil }) {
			names = append(names, id.Name)
		}
	}
	for _, decl := range f.Decls {
		switch d := decl.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil || receiverExported(d.Recv) {
				missing(d.Name, d.Doc)
			}
		case *ast.GenDecl:
			for _, spec := range d.Specs {
				switch s := spec.(type) {
				case *ast.TypeSpec:
					missing(s.Name, s.Doc, d.Doc)
				case *ast.ValueSpec:
					for _, id := range s.Names {
						missing(id, s.Doc, s.Comment, d.Doc)
					}
				}
			}
		}
	}
	return names
}

// receiverExported reports whether a method belongs to an exported type.
func receiverExported(recv *ast.FieldList) bool {
	exported := false
	ast.Inspect(recv.List[0].Type, func(n ast.Node) bool {
		id, ok := n.(*ast.Ident)
		exported = exported || ok && id.IsExported()
		return !ok
	})
	return exported
}

func TestNoPackageIsABucket(t *testing.T) {
	t.Parallel()
	buckets := []string{"util", "utils", "common", "helper", "helpers", "types", "type", "model", "models", "misc", "base", "shared", "lib"}
	var breaches []string
	for _, f := range tree(t) {
		for part := range strings.SplitSeq(strings.TrimSuffix(f.path, ".go"), "/") {
			if slices.Contains(buckets, part) {
				breaches = append(breaches, f.path)
			}
		}
	}
	broken(t, breaches, "a name that says nothing gathers everything; a type lives with the package that gives it meaning")
}

func TestNothingRunsBeforeMain(t *testing.T) {
	t.Parallel()
	var breaches []string
	for _, f := range tree(t) {
		for _, decl := range f.syntax.Decls {
			if fn, ok := decl.(*ast.FuncDecl); ok && fn.Recv == nil && fn.Name.Name == "init" {
				breaches = append(breaches, f.path)
			}
		}
	}
	broken(t, breaches, "an init function runs in every program and test that imports the package; make a constructor")
}

func TestNoFileGrowsPastReading(t *testing.T) {
	t.Parallel()
	const limit = 600
	var breaches []string
	for _, f := range tree(t) {
		if !f.test && f.lines > limit {
			breaches = append(breaches, fmt.Sprintf("%s has %d lines", f.path, f.lines))
		}
	}
	broken(t, breaches, "over 600 lines a file is no longer one thing")
}

// committed lists the files git keeps, with their modes.
func committed(t *testing.T) map[string]string {
	t.Helper()
	out, err := exec.CommandContext(t.Context(), "git", "ls-files", "-s", "-z").Output()
	require.NoError(t, err, "the laws about committed files need git and a clone")
	modes := map[string]string{}
	for entry := range strings.SplitSeq(strings.TrimSuffix(string(out), "\x00"), "\x00") {
		about, name, _ := strings.Cut(entry, "\t")
		modes[name] = strings.Fields(about)[0]
	}
	return modes
}

func TestNoCommittedFileNamesAMachineOrARegistry(t *testing.T) {
	t.Parallel()
	// The escapes keep this file from breaking its own law.
	places := regexp.MustCompile(`(?:^|[^\w.)}/-])/(?:work|farm|home|root|Users)/` +
		`|(?:proxy|sum)\.golang\.org|(?:deb|security)\.debian\.org|registry\.npmjs\.org|pypi\.org|crates\.io`)
	var breaches []string
	for name := range committed(t) {
		src, err := os.ReadFile(name)
		if os.IsNotExist(err) {
			continue // taken away, but not yet committed so
		}
		require.NoError(t, err)
		if place := places.Find(src); place != nil {
			breaches = append(breaches, fmt.Sprintf("%s names %s", name, bytes.TrimSpace(place)))
		}
	}
	broken(t, breaches, "what is committed works on any machine and through any mirror")
}

func TestCIRunsAsItIs(t *testing.T) {
	t.Parallel()
	require.Equal(t, "100755", committed(t)[".ci/run"], "CI starts .ci/run as a program: git update-index --chmod=+x .ci/run")
}
