package knowledge

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
	"github.com/goccy/go-yaml/token"
)

//go:embed all:data
var embedded embed.FS

// Embedded is the knowledge shipped in the binary.
func Embedded() fs.FS {
	sub, err := fs.Sub(embedded, "data")
	if err != nil {
		panic("knowledge: the embedded data folder is missing: " + err.Error())
	}
	return sub
}

// Base is a loaded and checked body of knowledge. It is never changed after Load.
type Base struct {
	// Version is a short digest of every file read, in order.
	Version string

	Quantities   map[string]*Quantity
	Measurements map[ReadingID]*Measurement
	Observations map[string]*Observation
	Facts        map[string]*Fact
	Kinds        map[string]*Kind
	Circuits     map[string]*Circuit
	Equipment    map[string]*Equipment
	Faults       map[string]*Fault
	Checks       map[string]*Check
	Cautions     map[string]*Caution
	Limits       map[string]*Limit
	Refrigerants map[string]*Refrigerant
	Lexicon      Lexicon
	Phrases      map[string]string

	where map[string]origin
}

// origin remembers where an item stands, for errors.
type origin struct {
	file string
	key  *token.Token
	node ast.Node
}

// Load reads the given file systems, later ones overlaying earlier ones item by
// item, and checks the whole. The error is an Errors holding every mistake.
func Load(layers ...fs.FS) (*Base, error) {
	l := &loader{base: &Base{where: map[string]origin{}}, digest: sha256.New()}
	for _, layer := range layers {
		l.layer(layer)
	}
	b := l.base
	b.Version = hex.EncodeToString(l.digest.Sum(nil))[:12]
	if len(l.errs) == 0 {
		b.derive()
		l.errs = append(l.errs, b.check()...)
	}
	if len(l.errs) > 0 {
		return nil, l.errs.sorted()
	}
	return b, nil
}

type loader struct {
	base   *Base
	errs   Errors
	digest interface {
		Write([]byte) (int, error)
		Sum([]byte) []byte
	}
}

// layer reads one file system. Every top folder is a section; within a layer an
// id may stand once.
func (l *loader) layer(fsys fs.FS) {
	b := l.base
	seen := map[string]origin{}
	sections := map[string]func(string, ast.Node) error{
		"quantities":   into(&b.Quantities),
		"measurements": into(&b.Measurements),
		"observations": into(&b.Observations),
		"facts":        into(&b.Facts),
		"kinds":        into(&b.Kinds),
		"circuits":     into(&b.Circuits),
		"equipment":    into(&b.Equipment),
		"faults":       into(&b.Faults),
		"checks":       into(&b.Checks),
		"cautions":     into(&b.Cautions),
		"limits":       into(&b.Limits),
		"refrigerants": into(&b.Refrigerants),
		"phrases":      intoText(&b.Phrases),
		"lexicon":      b.Lexicon.add,
	}
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() || !strings.HasSuffix(p, ".yaml") {
			return nil
		}
		section, _, _ := strings.Cut(p, "/")
		add, ok := sections[section]
		if !ok {
			names := make([]string, 0, len(sections))
			for n := range sections {
				names = append(names, n)
			}
			slices.Sort(names)
			l.fail(&Error{File: p, Line: 1, Column: 1, What: fmt.Sprintf("no such folder of knowledge as %q", section), Mend: "put the file under one of " + strings.Join(names, ", ")})
			return nil
		}
		return l.file(fsys, p, section, add, seen)
	})
	if err != nil {
		l.fail(&Error{File: ".", Line: 1, Column: 1, What: "reading the knowledge folder: " + err.Error(), Mend: "name a folder that can be read"})
	}
}

func (l *loader) fail(e *Error) { l.errs = append(l.errs, e) }

func (l *loader) file(fsys fs.FS, p, section string, add func(string, ast.Node) error, seen map[string]origin) error {
	src, err := fs.ReadFile(fsys, p)
	if err != nil {
		return fmt.Errorf("reading %s: %w", p, err)
	}
	fmt.Fprintf(asWriter{l.digest}, "%s %d\n", p, len(src))
	l.digest.Write(src)
	tree, err := parser.ParseBytes(src, 0)
	if err != nil {
		l.fail(yamlError(p, "", nil, err))
		return nil
	}
	for _, doc := range tree.Docs {
		if doc.Body == nil {
			continue
		}
		items, ok := mapping(doc.Body)
		if !ok {
			l.fail(&Error{File: p, Line: line(doc.Body.GetToken()), Column: column(doc.Body.GetToken()), What: "the file is not a list of named items", Mend: "write each item as `id:` followed by its indented fields"})
			continue
		}
		for _, item := range items {
			l.item(p, section, item, add, seen)
		}
	}
	return nil
}

func (l *loader) item(p, section string, item *ast.MappingValueNode, add func(string, ast.Node) error, seen map[string]origin) {
	var id string
	if err := yaml.NodeToValue(item.Key, &id); err != nil {
		l.fail(yamlError(p, "", item.Key.GetToken(), err))
		return
	}
	full := section + "/" + id
	tok := item.Key.GetToken()
	if first, ok := seen[full]; ok && section != "lexicon" {
		l.fail(&Error{File: p, Line: line(tok), Column: column(tok), ID: full, What: fmt.Sprintf("the same id stands at %s:%d", first.file, line(first.key)), Mend: "keep one of the two, or give this one its own id"})
		return
	}
	here := origin{file: p, key: tok, node: item.Value}
	seen[full] = here
	l.base.where[full] = here
	if err := add(id, item.Value); err != nil {
		l.fail(yamlError(p, full, tok, err))
	}
}

type asWriter struct {
	w interface{ Write([]byte) (int, error) }
}

func (a asWriter) Write(p []byte) (int, error) { return a.w.Write(p) }

// into decodes an item strictly into a map by id; a later layer replaces.
func into[K ~string, T any](m *map[K]*T) func(string, ast.Node) error {
	return func(id string, node ast.Node) error {
		v := new(T)
		if err := yaml.NodeToValue(node, v, yaml.Strict()); err != nil {
			return err
		}
		if *m == nil {
			*m = map[K]*T{}
		}
		(*m)[K(id)] = v
		return nil
	}
}

func intoText(m *map[string]string) func(string, ast.Node) error {
	return func(id string, node ast.Node) error {
		var v string
		if err := yaml.NodeToValue(node, &v, yaml.Strict()); err != nil {
			return err
		}
		if *m == nil {
			*m = map[string]string{}
		}
		(*m)[id] = v
		return nil
	}
}

func mapping(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	return nil, false
}

// yamlError turns a decoder's error into one with place and mend.
func yamlError(file, id string, fallback *token.Token, err error) *Error {
	e := &Error{File: file, Line: line(fallback), Column: column(fallback), ID: id, What: err.Error()}
	var placed interface {
		error
		GetToken() *token.Token
		GetMessage() string
	}
	if errors.As(err, &placed) {
		e.What = placed.GetMessage()
		if t := placed.GetToken(); t != nil {
			e.Line, e.Column = line(t), column(t)
		}
	}
	e.What, _, _ = strings.Cut(e.What, "\n")
	switch {
	case strings.Contains(e.What, "unknown field"):
		e.Mend = "check the spelling against " + path.Dir(file) + " items already there, or remove the line"
	case strings.Contains(e.What, "cannot unmarshal"):
		e.Mend = "give the kind of value this field takes"
	case strings.Contains(e.What, "already defined"), strings.Contains(e.What, "duplicate"):
		e.Mend = "keep one of the two lines"
	default:
		e.Mend = "correct the YAML here"
	}
	return e
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

// at makes an Error placed at a field inside an item: keys are map keys
// (string) and list places (int) leading to the field; the deepest one found is
// used.
func (b *Base) at(full, what, mend string, keys ...any) *Error {
	o, ok := b.where[full]
	if !ok {
		return &Error{File: "(derived)", Line: 1, Column: 1, ID: full, What: what, Mend: mend}
	}
	tok, node := o.key, o.node
	for _, k := range keys {
		next, t := descend(node, k)
		if next == nil {
			break
		}
		node, tok = next, t
	}
	return &Error{File: o.file, Line: line(tok), Column: column(tok), ID: full, What: what, Mend: mend}
}

func descend(n ast.Node, key any) (ast.Node, *token.Token) {
	switch k := key.(type) {
	case string:
		items, _ := mapping(n)
		for _, it := range items {
			var name string
			if yaml.NodeToValue(it.Key, &name) == nil && name == k {
				return it.Value, it.Key.GetToken()
			}
		}
	case int:
		if s, ok := n.(*ast.SequenceNode); ok && k < len(s.Values) {
			return s.Values[k], s.Values[k].GetToken()
		}
	}
	return nil, nil
}
