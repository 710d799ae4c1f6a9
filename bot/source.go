package bot

import (
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"

	"proveout/knowledge"
)

// Source is a YAML file of a shop's, with the mistakes found in it: they are gathered,
// so that all are told at once, each with its line and its mend.
type Source struct {
	path  string
	root  ast.Node
	found knowledge.Errors
}

// ReadSource reads a file into a value, strictly: a key nobody knows is a mistake. what
// is what the file holds, and mend where to read what may stand in it. The error is a
// knowledge.Errors unless the file cannot be opened.
func ReadSource(path, what, mend string, into any) (*Source, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, fmt.Errorf("reading the %s: %w", what, err)
	}
	s := &Source{path: path}
	file, err := parser.ParseBytes(text, 0)
	if err != nil {
		return nil, knowledge.Errors{s.unreadable(err, mend)}
	}
	if len(file.Docs) != 1 || file.Docs[0].Body == nil {
		s.Fail("", "the file holds no "+what+", or more than one", mend)
		return nil, s.found
	}
	s.root = file.Docs[0].Body
	if err := yaml.NodeToValue(s.root, into, yaml.Strict()); err != nil {
		return nil, knowledge.Undecoded(path, s.root, reflect.TypeOf(into).Elem(), mend, s.unreadable(err, mend))
	}
	return s, nil
}

func (s *Source) unreadable(err error, mend string) *knowledge.Error {
	e := &knowledge.Error{File: s.path, Line: 1, Column: 1, What: err.Error(), Mend: mend}
	if placed, ok := errors.AsType[yaml.Error](err); ok {
		e.What = placed.GetMessage()
		if t := placed.GetToken(); t != nil && t.Position != nil {
			e.Line, e.Column = t.Position.Line, t.Position.Column
		}
	}
	return e
}

// Fail notes a mistake at keys joined by slashes: where the deepest of them stands.
func (s *Source) Fail(at, what, mend string) {
	e := &knowledge.Error{File: s.path, Line: 1, Column: 1, ID: at, What: what, Mend: mend}
	node := s.root
	for key := range strings.SplitSeq(at, "/") {
		item := entryOf(node, key)
		if item == nil {
			break
		}
		if p := item.Key.GetToken().Position; p != nil {
			e.Line, e.Column = p.Line, p.Column
		}
		node = item.Value
	}
	s.found = append(s.found, e)
}

// Err is every mistake found, in the order of the file; nil when there is none.
func (s *Source) Err() error {
	if len(s.found) == 0 {
		return nil
	}
	slices.SortStableFunc(s.found, func(a, b *knowledge.Error) int { return a.Line - b.Line })
	return s.found
}

// entryOf finds a key in a mapping, or nil.
func entryOf(n ast.Node, key string) *ast.MappingValueNode {
	var items []*ast.MappingValueNode
	switch n := n.(type) {
	case *ast.MappingNode:
		items = n.Values
	case *ast.MappingValueNode:
		items = []*ast.MappingValueNode{n}
	}
	for _, item := range items {
		var name string
		if yaml.NodeToValue(item.Key, &name) == nil && name == key {
			return item
		}
	}
	return nil
}
