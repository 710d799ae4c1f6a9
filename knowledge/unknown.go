package knowledge

import (
	"fmt"
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

// Undecoded is everything that keeps a node from being decoded into a type: each key
// the type does not have, with a mend where none is near, and otherwise what the
// decoder said.
func Undecoded(file string, n ast.Node, t reflect.Type, mend string, said *Error) Errors {
	var out Errors
	fields := unknownFields(n, t)
	for _, f := range fields {
		out = append(out, &Error{File: file, Line: line(f.at), Column: column(f.at), What: fmt.Sprintf("unknown field %q", f.name), Mend: didYouMean(f.near, mend)})
	}
	if len(fields) == 0 { // the decoder's error may be one of them
		return Errors{said}
	}
	if err := yaml.NodeToValue(n, reflect.New(t).Interface()); err != nil {
		out = append(out, yamlError(file, "", n.GetToken(), err))
	}
	return out
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
