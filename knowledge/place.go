package knowledge

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// origin remembers where an item stands, for errors.
type origin struct {
	file  string
	src   []byte
	layer int
	key   *token.Token
	node  ast.Node
}

// Mistake makes an Error about an item, written section/id, found after loading.
// keys are map keys (string) and list places (int) leading to the field; what was
// derived is placed at the component it was derived from.
func (b *Base) Mistake(item, what, mend string, keys ...any) *Error {
	return b.at(item, what, mend, keys...)
}

// at makes an Error placed at a field inside an item: keys are map keys
// (string) and list places (int) leading to the field; the deepest one found is
// used.
func (b *Base) at(full, what, mend string, keys ...any) *Error {
	o, ok := b.where[full]
	if !ok {
		if o, keys, ok = b.derivedFrom(full); !ok {
			return &Error{File: "(derived)", Line: 1, Column: 1, ID: full, What: what, Mend: mend}
		}
	}
	tok, _ := o.descend(keys)
	return (&Error{File: o.file, Line: line(tok), Column: column(tok), ID: full, What: what, Mend: mend}).shown(o.src)
}

// derivedFrom finds where the component of a derived fault or point is written.
func (b *Base) derivedFrom(full string) (origin, []any, bool) {
	section, id, _ := strings.Cut(full, "/")
	part, _, _ := strings.Cut(id, "/")
	if m := b.Measurements[ReadingID(id)]; section == "measurements" && m != nil {
		part = m.Component
	}
	for _, e := range keysOf(b.Equipment) {
		for _, l := range b.layers(e) {
			i := slices.IndexFunc(l.components, func(c Component) bool { return c.ID == part })
			if o, ok := b.where[l.item]; ok && i >= 0 {
				return o, []any{"components", i}, true
			}
		}
	}
	return origin{}, nil, false
}

// descend follows keys into the item as far as they lead; all says they led to
// their end.
func (o *origin) descend(keys []any) (tok *token.Token, all bool) {
	tok, node := o.key, o.node
	for _, k := range keys {
		next, t := descend(node, k)
		if next == nil {
			return tok, false
		}
		node, tok = next, t
	}
	return tok, true
}

func descend(n ast.Node, key any) (ast.Node, *token.Token) {
	switch k := key.(type) {
	case string:
		items, _ := mapping(n)
		for _, it := range items {
			if keyOf(it) == k {
				return it.Value, it.Key.GetToken()
			}
		}
	case int:
		if s, ok := n.(*ast.SequenceNode); ok && k < len(s.Values) {
			return s.Values[k], first(s.Values[k])
		}
	}
	return nil, nil
}

// keyOf is the name a field is given, quoted or not.
func keyOf(it *ast.MappingValueNode) string {
	if s, ok := it.Key.(*ast.StringNode); ok {
		return s.Value
	}
	var name string
	if yaml.NodeToValue(it.Key, &name) != nil {
		return ""
	}
	return name
}

// first is the token a node begins with: of a block of fields, its first key.
func first(n ast.Node) *token.Token {
	if m, ok := n.(*ast.MappingNode); ok && m.IsFlowStyle {
		return m.Start
	}
	if items, ok := mapping(n); ok && len(items) > 0 {
		return items[0].Key.GetToken()
	}
	return n.GetToken()
}

func line(t *token.Token) int {
	if t == nil || t.Position == nil {
		return 1
	}
	return t.Position.Line
}

func column(t *token.Token) int {
	if t == nil || t.Position == nil {
		return 1
	}
	return t.Position.Column
}

// yamlError turns a decoder's error into one with place and mend.
func yamlError(file, id string, fallback *token.Token, err error) *Error {
	e := &Error{File: file, Line: line(fallback), Column: column(fallback), ID: id, What: err.Error(), Mend: "correct the YAML here"}
	if placed, ok := errors.AsType[yaml.Error](err); ok {
		e.What = placed.GetMessage()
		if t := placed.GetToken(); t != nil {
			e.Line, e.Column = line(t), column(t)
		}
	}
	e.What, _, _ = strings.Cut(e.What, "\n")
	if wrong, ok := errors.AsType[*yaml.TypeError](err); ok {
		e.What = fmt.Sprintf("%s stands where %s belongs", kindOf(wrong.SrcType), kindOf(wrong.DstType))
		e.Mend = "give the kind of value this field takes"
	}
	if _, ok := errors.AsType[*yaml.UnexpectedNodeTypeError](err); ok {
		e.Mend = "give the kind of value this field takes"
	}
	if _, ok := errors.AsType[*figureError](err); ok {
		e.Mend = "write a number, the name of a limit or fact, or 0.9 * name + 5"
	}
	if strings.Contains(e.What, "already defined") {
		e.Mend = "keep one of the two"
	}
	return e
}

// kindOf names a Go type as someone who writes YAML would.
func kindOf(t reflect.Type) string {
	if t == nil {
		return "nothing"
	}
	switch t.Kind() {
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a text"
	case reflect.Slice, reflect.Array:
		return "a list"
	case reflect.Map, reflect.Struct, reflect.Pointer, reflect.Interface:
		return "a set of fields"
	default:
		return "a number"
	}
}
