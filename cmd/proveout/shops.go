package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"proveout/knowledge"
)

// readShops reads the configurations of an installation: files, and folders whose every
// .yaml is one. The mistakes of all come back together.
func readShops(paths []string, l *library) ([]*shop, error) {
	var shops []*shop
	var mistakes knowledge.Errors
	var errs []error
	told := map[string]bool{} // what all know is wrong for each of them
	note := func(err error) {
		found, ok := errors.AsType[knowledge.Errors](err)
		if !ok {
			errs = append(errs, err)
		}
		for _, m := range found {
			if !told[m.Error()] {
				told[m.Error()] = true
				mistakes = append(mistakes, m)
			}
		}
	}
	var files []string
	for _, path := range paths {
		found, err := configurations(path)
		files, errs = append(files, found...), append(errs, err)
	}
	if err := errors.Join(errs...); err != nil { // asked wrongly, before anything is read
		return nil, err
	}
	for _, file := range files {
		s, err := readShop(file, l)
		if err != nil {
			note(err)
			continue
		}
		shops = append(shops, s)
	}
	if err := apart(shops, whereKept); err != nil {
		note(err)
	}
	if len(mistakes) > 0 {
		errs = append(errs, mistakes)
	}
	return shops, errors.Join(errs...)
}

// configurations are the files a path names: itself, or those of a folder.
func configurations(path string) ([]string, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("reading the configuration: %w", err)
	}
	if !info.IsDir() {
		return []string{path}, nil
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		return nil, fmt.Errorf("reading the configurations: %w", err)
	}
	var files []string
	for _, e := range entries {
		switch at := filepath.Join(path, e.Name()); {
		case e.IsDir() || strings.HasPrefix(e.Name(), "."):
		case filepath.Ext(at) == ".yaml":
			files = append(files, at)
		case filepath.Ext(at) == ".yml":
			return nil, fmt.Errorf("%s would be passed over; name it .yaml, or move it out of the folder", at)
		}
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("the folder %s holds no .yaml file; name the folder the shops' configurations lie in", path)
	}
	return files, nil
}
