package knowledge

import "github.com/goccy/go-yaml/ast"

// Lexicon holds the ways of saying things.
type Lexicon struct{}

func (x *Lexicon) add(id string, node ast.Node) error { return nil }
