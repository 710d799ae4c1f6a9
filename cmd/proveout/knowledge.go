package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"proveout/knowledge"
)

// errFound stops a walk that has seen what it was looking for.
var errFound = errors.New("found")

// loadKnowledge loads the embedded knowledge with the given folders laid over it
// in order. Mistakes in the knowledge come back as knowledge.Errors whose files
// can be opened from here; any other error is a folder that cannot be used.
func loadKnowledge(dirs ...string) (*knowledge.Base, error) {
	layers := []fs.FS{knowledge.Embedded()}
	for _, dir := range dirs {
		layer := os.DirFS(dir)
		if err := holdsKnowledge(layer); err != nil {
			return nil, fmt.Errorf("opening the knowledge folder %s: %w", dir, err)
		}
		layers = append(layers, layer)
	}
	base, err := knowledge.Load(layers...)
	return base, placed(err, dirs)
}

// holdsKnowledge refuses a folder without a single knowledge file: it is nearly
// always the wrong folder, and loading it would quietly change nothing.
func holdsKnowledge(layer fs.FS) error {
	err := fs.WalkDir(layer, ".", func(path string, _ fs.DirEntry, err error) error {
		// Loading says that a .yml file is not read, and how to mend it.
		if err == nil && (strings.HasSuffix(path, ".yaml") || strings.HasSuffix(path, ".yml")) {
			return errFound
		}
		return err
	})
	switch {
	case errors.Is(err, errFound):
		return nil
	case err != nil:
		return fmt.Errorf("%w; name a folder that can be read", err)
	default:
		return errors.New("it holds no .yaml file; name the folder above faults/, equipment/ and the others")
	}
}

// placed gives each mistake in the knowledge the path it has from here: the last
// folder that holds the file, since that is the one that was read over the others.
// Any other error passes through.
func placed(err error, dirs []string) error {
	mistakes, ok := errors.AsType[knowledge.Errors](err)
	if !ok {
		return err
	}
	out := make(knowledge.Errors, len(mistakes))
	for i, m := range mistakes {
		here := *m
		for _, dir := range dirs {
			path := filepath.Join(dir, filepath.FromSlash(m.File))
			if _, err := os.Stat(path); err == nil {
				here.File = path
			}
		}
		out[i] = &here
	}
	return out
}

// spoken is a language something is said in, the knowledge's own where none is named.
func spoken(base *knowledge.Base, language string) (string, error) {
	all := append([]string{base.Language}, base.Languages()...)
	if language == "" {
		return base.Language, nil
	}
	if !slices.Contains(all, language) {
		return "", fmt.Errorf("nothing is said in %q yet; write one of %s", language, strings.Join(all, ", "))
	}
	return language, nil
}
