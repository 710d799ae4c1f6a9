package knowledge

import (
	"reflect"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/token"
)

// unknown is a field a type does not have, and the one it may be a slip of.
type unknown struct {
	name, near string
	at         *token.Token
}

// unknownFields lists every one in a node that a type does not have. The decoder
// names only one, and not always the same.
func unknownFields(n ast.Node, t reflect.Type) []unknown {
	if n == nil || reflect.PointerTo(t).Implements(reflect.TypeFor[yaml.NodeUnmarshaler]()) {
		return nil
	}
	var out []unknown
	items, _ := mapping(n)
	switch t.Kind() {
	case reflect.Pointer:
		return unknownFields(n, t.Elem())
	case reflect.Slice, reflect.Array:
		if s, ok := n.(*ast.SequenceNode); ok {
			for _, v := range s.Values {
				out = append(out, unknownFields(v, t.Elem())...)
			}
		}
	case reflect.Map:
		for _, it := range items {
			out = append(out, unknownFields(it.Value, t.Elem())...)
		}
	case reflect.Struct:
		fields := fieldsOf(t)
		for _, it := range items {
			name := keyOf(it)
			if f, ok := fields[name]; ok {
				out = append(out, unknownFields(it.Value, f)...)
			} else {
				out = append(out, unknown{name, nearest(name, keysOf(fields)), it.Key.GetToken()})
			}
		}
	default:
	}
	return out
}

// fieldsOf are a struct's fields by the names YAML gives them.
func fieldsOf(t reflect.Type) map[string]reflect.Type {
	out := map[string]reflect.Type{}
	for f := range t.Fields() {
		if name := f.Tag.Get("yaml"); name != "" && name != "-" {
			out[name] = f.Type
		}
	}
	return out
}
