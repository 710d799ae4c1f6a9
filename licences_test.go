package proveout_test

import (
	"cmp"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/licenseclassifier/v2/assets"
	"github.com/stretchr/testify/require"
)

// allowed are the licences a library in the binary may have, by their SPDX names:
// those that ask for a notice, and one that asks for its own files' source.
func allowed() []string {
	return []string{"Apache-2.0", "BSD-2-Clause", "BSD-3-Clause", "FTL", "ISC", "MIT", "MPL-2.0"}
}

// chosen are the licence taken of a library that gives a choice, by its file.
func chosen() map[string]string {
	return map[string]string{"github.com/golang/freetype": "licenses/ftl.txt"}
}

// licences is the list of what the binary is built from, to hand on with it.
const licences = "deploy/licences.txt"

// Every library linked into the binary has a licence we may use it under, and stands
// in the list. UPDATE_LICENCES=1 writes the list anew.
func TestEveryLibraryLinkedHasALicenceWeMayUse(t *testing.T) {
	t.Parallel()
	classifier, err := assets.DefaultClassifier()
	require.NoError(t, err)
	out, err := exec.CommandContext(t.Context(), "go", "list", "-deps", "-f",
		"{{with .Module}}{{if not .Main}}{{.Path}} {{.Dir}}{{end}}{{end}}", "./cmd/proveout").Output()
	require.NoError(t, err)
	modules := strings.Split(strings.TrimSpace(string(out)), "\n")
	slices.Sort(modules)
	var list strings.Builder
	var breaches []string
	for _, m := range slices.Compact(modules) {
		path, dir, _ := strings.Cut(m, " ")
		texts, err := filepath.Glob(filepath.Join(dir, cmp.Or(chosen()[path], "LICENSE*")))
		require.NoError(t, err)
		var names []string
		for _, file := range texts {
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			for _, match := range classifier.Match(text).Matches {
				if match.MatchType == "License" {
					names = append(names, match.Name)
				}
			}
		}
		slices.Sort(names)
		names = slices.Compact(names)
		if len(names) == 0 {
			breaches = append(breaches, path+" has no licence that can be told")
		}
		for _, name := range names {
			if !slices.Contains(allowed(), name) {
				breaches = append(breaches, path+" is under "+name)
			}
		}
		fmt.Fprintf(&list, "%s %s\n", path, strings.Join(names, ", "))
	}
	broken(t, breaches, "the binary may be handed on under the licences of its parts")
	if os.Getenv("UPDATE_LICENCES") != "" {
		require.NoError(t, os.WriteFile(licences, []byte(list.String()), 0o600))
	}
	kept, err := os.ReadFile(licences)
	require.NoError(t, err)
	require.Equal(t, string(kept), list.String(), "UPDATE_LICENCES=1 go test -run Licence . writes the list anew; read what changed")
}
