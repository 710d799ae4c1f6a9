package proveout_test

import (
	"go/ast"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// sayers are the functions that say a phrase, and which of their arguments names it;
// those in small letters are a package's own short forms.
func sayers(dir string) map[string]int {
	switch dir {
	case "dialog":
		return map[string]int{"Say": 0, "Count": 0, "say": 0, "add": 1}
	case "bot":
		return map[string]int{"Say": 0, "Count": 0, "phrase": 1, "toSender": 0, "everywhere": 0}
	}
	return map[string]int{"Say": 0, "Count": 0}
}

func TestEveryPhraseUsedIsSaidAndEveryPhraseSaidIsUsed(t *testing.T) {
	t.Parallel()
	ids := map[string]bool{}
	for _, name := range []string{"en", "pages", "web"} {
		english, err := os.ReadFile("knowledge/data/phrases/" + name + ".yaml")
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`(?m)^([a-z][a-z0-9-]*):`).FindAllStringSubmatch(string(english), -1) {
			ids[m[1]] = true
		}
	}
	written := map[string]bool{} // in Go, as a word of its own or as the beginning of one
	var breaches []string
	for _, f := range tree(t) {
		if f.test || within(f.dir, "rules") {
			continue
		}
		ast.Inspect(f.syntax, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.BasicLit:
				if text, ok := literal(n); ok {
					written[text] = true
				}
			case *ast.CallExpr:
				for _, id := range named(f.dir, n) {
					if !saidBy(ids, id) {
						breaches = append(breaches, f.path+" says "+id)
					}
				}
			}
			return true
		})
	}
	for name, page := range pages(t) {
		for _, m := range regexp.MustCompile(`\bsay "([a-z0-9-]+)"`).FindAllStringSubmatch(page, -1) {
			if written[m[1]] = true; !ids[m[1]] {
				breaches = append(breaches, name+" says "+m[1])
			}
		}
	}
	broken(t, breaches, "a phrase that stands in no file under knowledge/data/phrases is said as nothing")
	for id := range ids {
		used := func(text string) bool {
			// of one, and in brief, a phrase is said by the name of the phrase itself
			return text == id || text+"-one" == id || text+"-brief" == id || beginning(text) && strings.HasPrefix(id, text)
		}
		if !slices.ContainsFunc(slices.Collect(maps.Keys(written)), used) {
			breaches = append(breaches, id)
		}
	}
	broken(t, breaches, "a phrase nothing says is kept in two languages for nobody")
}

// pages are the templates of the tree by their paths.
func pages(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(".", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || filepath.Ext(p) != ".html" {
			return err
		}
		page, err := os.ReadFile(p)
		out[p] = string(page)
		return err
	})
	require.NoError(t, err)
	return out
}

// named are the phrases a call says, where it names them outright: one of a kind by
// the beginning they share.
func named(dir string, call *ast.CallExpr) []string {
	name := ""
	switch fun := call.Fun.(type) {
	case *ast.SelectorExpr:
		name = fun.Sel.Name
	case *ast.Ident: // a short form within a function
		name = strings.ToUpper(fun.Name[:1]) + fun.Name[1:]
	}
	at, ok := sayers(dir)[name]
	if !ok || at >= len(call.Args) {
		return nil
	}
	arg := call.Args[at]
	if joined, ok := arg.(*ast.BinaryExpr); ok && joined.Op == token.ADD {
		arg = joined.X
	}
	id, ok := literal(arg)
	switch {
	case !ok:
		return nil
	case name == "Count":
		return []string{id, id + "-one"}
	}
	return []string{id}
}

func saidBy(ids map[string]bool, id string) bool {
	return ids[id] || beginning(id) && slices.ContainsFunc(slices.Collect(maps.Keys(ids)), func(one string) bool { return strings.HasPrefix(one, id) })
}

// beginning tells the beginning phrases of a kind share.
func beginning(text string) bool { return len(text) > 2 && strings.HasSuffix(text, "-") }

func literal(n ast.Node) (string, bool) {
	l, ok := n.(*ast.BasicLit)
	if !ok || l.Kind != token.STRING {
		return "", false
	}
	text, err := strconv.Unquote(l.Value)
	return text, err == nil
}
