package knowledge_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

// mistakes loads folders over the shipped knowledge and wants mistakes.
func mistakes(t *testing.T, shop fs.FS) knowledge.Errors {
	t.Helper()
	_, err := knowledge.Load(knowledge.Embedded(), shop)
	found, ok := errors.AsType[knowledge.Errors](err)
	require.True(t, ok, "it loads: %v", err)
	return found
}

func TestOneMistakeDoesNotBringForthOthers(t *testing.T) {
	t.Parallel()
	for rule, shop := range map[string]fstest.MapFS{
		"a misspelt field in a netlist":      folder("circuits/control.yaml", "control: {nam: control circuit, source: common practice}"),
		"a kind that cannot be read":         folder("kinds/ours.yaml", "wire: [branch]"),
		"a file torn in the middle":          folder("facts/ours.yaml", "\"float-switch: {", "faults/ours.yaml", ourFault("needs: {our-fact: fitted}")),
		"an observation that is only a word": folder("observations/ours.yaml", "filter: dirty"),
		"a misspelt folder":                  folder("limts/ours.yaml", "our-limit: {value: 1, unit: V, source: judgement}", "faults/ours.yaml", ourFault("needs: {float-switch: fitted}"), "cautions/ours.yaml", "ours: {text: Mind the dog., source: judgement}"),
	} {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			require.Len(t, mistakes(t, shop), 1)
		})
	}
}

func ourFault(line string) string {
	return `ours/fault: {name: our fault, short: ours, weight: 1, source: judgement, repair: Mend it., modes: {cable-y: open}, cautions: [local-codes], checks: [full-cycle], proof: [{any-of: [[{observation: filter, is: dirty}]]}], ` + line + "}"
}

func TestAnExcerptShowsALongLineAroundThePlace(t *testing.T) {
	t.Parallel()
	line := "long: {text: \"" + strings.Repeat("word µ ", 60) + "\", sauce: judgement}"
	found := mistakes(t, folder("cautions/long.yaml", line))
	require.Len(t, found, 1)
	text, caret, ok := strings.Cut(found[0].Excerpt(), "\n")
	require.True(t, ok)
	require.LessOrEqual(t, len([]rune(text)), 100)
	at := strings.Index(caret, "^")
	require.Equal(t, "sauce", string([]rune(text)[at:at+5]))
}

func TestAFolderThatCannotBeReadIsSaidToBe(t *testing.T) {
	t.Parallel()
	require.ErrorContains(t, mistakes(t, locked{}), "name a folder that can be read")
}

// locked is a folder nobody may look into.
type locked struct{}

func (locked) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrPermission}
}

func TestAFileTooLongIsNotRead(t *testing.T) {
	t.Parallel()
	found := mistakes(t, folder("limits/long.yaml", "# "+strings.Repeat("x", 1<<20)))
	require.Len(t, found, 1)
	require.ErrorContains(t, found, "1 MiB")
}

// FuzzLoadNeverPanics holds the law that a broken knowledge file gives an error
// that names it, never a panic, and that the same files say the same.
func FuzzLoadNeverPanics(f *testing.F) {
	sections := []string{"quantities", "measurements", "observations", "facts", "kinds", "circuits", "equipment", "faults", "checks", "cautions", "limits", "refrigerants", "targets", "phrases", "lexicon"}
	seeds, err := filepath.Glob("testdata/*/*/*.yaml")
	require.NoError(f, err)
	for _, s := range seeds {
		text, err := os.ReadFile(s)
		require.NoError(f, err)
		f.Add(uint8(slices.Index(sections, filepath.Base(filepath.Dir(s)))), string(text))
	}
	for i := range sections {
		for _, text := range []string{"a: &a [*a]", "? [", "a: {b: !!binary x}", "- - - -", "a: |\n\tb", "\xff\xfe\x00", "a: {element: branch, modes: {x: {fault: ~}}}", "a: {from: a}", "a: {extends: a, circuits: [a]}", "{}", "a: ~", "%YAML 9\n---\na: b"} {
			f.Add(uint8(i), text)
		}
	}
	f.Fuzz(func(t *testing.T, section uint8, text string) {
		shop := folder(sections[int(section)%len(sections)]+"/ours.yaml", text)
		_, err := knowledge.Load(shop)
		_, again := knowledge.Load(shop)
		require.Equal(t, err, again)
		found, ok := errors.AsType[knowledge.Errors](err)
		require.True(t, ok || err == nil)
		for _, m := range found {
			require.NotEmpty(t, m.What)
			require.NotEmpty(t, m.Mend)
			require.NotContains(t, m.Excerpt(), "\x1b")
		}
	})
}
