package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
)

// changedIn tells when a file of the folders laid over the knowledge was last changed;
// zero for one in none of them.
func changedIn(dirs []string) func(file string) time.Time {
	return func(file string) time.Time {
		for _, dir := range slices.Backward(dirs) { // the last is the one that was read
			if info, err := os.Stat(filepath.Join(dir, filepath.FromSlash(file))); err == nil {
				return info.ModTime()
			}
		}
		return time.Time{}
	}
}

// checkedIn is what a check says of the folders laid over the knowledge, a line each. It
// takes some seconds, and is done when it is first asked for.
func checkedIn(dirs []string) func() []string {
	if len(dirs) == 0 {
		return nil
	}
	return sync.OnceValue(func() []string {
		_, warnings, err := use(dirs)
		if err != nil { // the files were changed after the service started
			return []string{err.Error()}
		}
		var out []string
		for _, w := range warnings {
			if slices.ContainsFunc(dirs, func(dir string) bool {
				return strings.HasPrefix(w.File, filepath.Clean(dir)+string(filepath.Separator))
			}) {
				out = append(out, w.Error())
			}
		}
		return out
	})
}
