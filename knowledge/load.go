package knowledge

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"hash"
	"io/fs"
	"maps"
	"path"
	"reflect"
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
	// Language is the one its texts are in.
	Language string

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
	Targets      map[string]*Target
	Lexicon      Lexicon
	Phrases      Phrases

	where   map[string]origin
	spoken  Phrases            // the phrases of the first layer
	tongues map[string]*tongue // by language
}

// Load reads the given file systems, later ones overlaying earlier ones item by
// item, and checks the whole. The error is an Errors holding every mistake.
func Load(layers ...fs.FS) (*Base, error) {
	l := &loader{base: &Base{Language: "en", where: map[string]origin{}}, digest: sha256.New(), lost: map[string]bool{}}
	for n, layer := range layers {
		l.n = n
		l.layer(layer)
		if n == 0 {
			l.base.spoken = maps.Clone(l.base.Phrases)
		}
	}
	b := l.base
	b.Version = hex.EncodeToString(l.digest.Sum(nil))[:12]
	c := newChecker(b, l.lost)
	if !c.lostWiring() {
		b.derive()
	}
	if l.errs = append(l.errs, c.check()...); len(l.errs) > 0 {
		return nil, l.errs.sorted()
	}
	return b, nil
}

// largest is the size of a knowledge file, bytes, beyond which something else was
// put in the folder.
const largest = 1 << 20

type loader struct {
	base   *Base
	n      int    // the layer being read
	src    []byte // the file being read
	errs   Errors
	lost   map[string]bool // sections, and items as section/id, that could not be read
	digest hash.Hash
}

// reader decodes one item of a section into a sample's type.
type reader struct {
	add    func(id string, node ast.Node) error
	sample reflect.Type
}

func (b *Base) readers() map[string]reader {
	return map[string]reader{
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
		"targets":      into(&b.Targets),
		"phrases":      intoText(&b.Phrases),
		"lexicon":      {b.Lexicon.add, reflect.TypeFor[LexiconPart]()},
	}
}

// layer reads one file system. Every top folder is a section; within a layer an
// id may stand once. Hidden files and folders are left alone.
func (l *loader) layer(fsys fs.FS) {
	seen, sections := map[string]origin{}, l.base.readers()
	if !l.holdsSections(fsys, sections) {
		return
	}
	err := fs.WalkDir(fsys, ".", func(p string, d fs.DirEntry, err error) error {
		l.src = nil
		switch name := path.Base(p); {
		case err != nil:
			return err
		case p != "." && name[0] == '.' && d.IsDir():
			return fs.SkipDir
		case d.IsDir() || name[0] == '.':
			return nil
		}
		if ext := path.Ext(p); ext != ".yaml" {
			if e := strings.ToLower(ext); e == ".yml" || e == ".yaml" {
				l.fail(&Error{File: p, Line: 1, Column: 1, What: "the file is not read: its name does not end in .yaml", Mend: "rename it to " + strings.TrimSuffix(path.Base(p), ext) + ".yaml"})
			}
			return nil
		}
		return l.file(fsys, p, sections, seen)
	})
	if err != nil {
		l.fail(&Error{File: ".", Line: 1, Column: 1, What: "reading the knowledge folder: " + err.Error(), Mend: "name a folder that can be read"})
	}
}

// holdsSections says whether a file system holds at least one folder of knowledge,
// or nothing at all; anything else is the wrong folder, and a mistake.
func (l *loader) holdsSections(fsys fs.FS, sections map[string]reader) bool {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil || len(entries) == 0 {
		return true // what cannot be read is found out while walking
	}
	for _, e := range entries {
		if _, ok := sections[e.Name()]; ok && e.IsDir() {
			return true
		}
	}
	l.fail(&Error{File: ".", Line: 1, Column: 1, What: "the folder has none of the folders of knowledge", Mend: "name the folder above " + strings.Join(keysOf(sections), "/, ") + "/"})
	return false
}

func (l *loader) fail(e *Error) { l.errs = append(l.errs, e.shown(l.src)) }

func (l *loader) file(fsys fs.FS, p string, sections map[string]reader, seen map[string]origin) error {
	section, rd, ok := l.base.sectionOf(p, sections)
	if !ok {
		e := &Error{File: p, Line: 1, Column: 1, What: fmt.Sprintf("no such folder of knowledge as %q", section), Mend: "put the file under one of " + strings.Join(keysOf(sections), ", ")}
		if !strings.Contains(p, "/") {
			e.What = "the file stands in no folder of knowledge"
		} else if near := nearest(section, keysOf(sections)); near != "" {
			e.Mend = fmt.Sprintf("did you mean %q?", near)
			l.lost[near] = true
		}
		l.fail(e)
		return nil
	}
	src, err := fs.ReadFile(fsys, p)
	if err != nil {
		return fmt.Errorf("reading %s: %w", p, err)
	}
	l.digest.Write(fmt.Appendf(nil, "%s %d\n", p, len(src)))
	l.digest.Write(src)
	if len(src) > largest {
		l.lost[section] = true
		l.fail(&Error{File: p, Line: 1, Column: 1, What: fmt.Sprintf("the file is %d bytes long", len(src)), Mend: "keep one subject a file; none may be longer than 1 MiB"})
		return nil
	}
	l.src = src
	for _, doc := range l.parse(p, section) {
		l.document(p, section, doc, rd, seen)
	}
	return nil
}

// parse reads a file's documents. The YAML library may panic on what nobody would
// write by hand; that is a mistake in the file like any other.
func (l *loader) parse(p, section string) (docs []*ast.DocumentNode) {
	defer func() { l.contain(recover(), p, section, "", nil) }()
	tree, err := parser.ParseBytes(l.src, 0)
	if err != nil {
		l.lost[section] = true
		l.fail(yamlError(p, "", nil, err))
		return nil
	}
	return tree.Docs
}

// contain turns a panic of the YAML library, nil when there was none, into a mistake
// at a place.
func (l *loader) contain(panicked any, p, lost, id string, tok *token.Token) {
	if panicked != nil {
		l.lost[lost] = true
		l.fail(&Error{File: p, Line: line(tok), Column: column(tok), ID: id, What: fmt.Sprintf("the YAML here cannot be read (%v)", panicked), Mend: "write it plainly, as the other files are written"})
	}
}

func (l *loader) document(p, section string, doc *ast.DocumentNode, rd reader, seen map[string]origin) {
	if doc.Body == nil {
		return
	}
	defer func() { l.contain(recover(), p, section, "", doc.Body.GetToken()) }()
	items, ok := mapping(doc.Body)
	if !ok {
		l.lost[section] = true
		tok := first(doc.Body)
		l.fail(&Error{File: p, Line: line(tok), Column: column(tok), What: "the file is not a list of named items", Mend: "write each item as `id:` followed by its indented fields"})
		return
	}
	for _, item := range items {
		l.item(p, section, item, rd, seen)
	}
}

func (l *loader) item(p, section string, item *ast.MappingValueNode, rd reader, seen map[string]origin) {
	var id string
	tok := item.Key.GetToken()
	if err := yaml.NodeToValue(item.Key, &id); err != nil {
		l.lost[section] = true
		l.fail(yamlError(p, "", tok, err))
		return
	}
	full := section + "/" + id
	if first, ok := seen[full]; ok && section != "lexicon" {
		l.fail(&Error{File: p, Line: line(tok), Column: column(tok), ID: full, What: fmt.Sprintf("the same id stands at %s:%d", first.file, line(first.key)), Mend: "keep one of the two, or give this one its own id"})
		return
	}
	here := origin{file: p, src: l.src, layer: l.n, key: tok, node: item.Value}
	seen[full] = here
	l.base.where[full] = here
	delete(l.lost, full)
	defer func() { l.contain(recover(), p, full, full, tok) }()
	if plain := unplain(item.Value); plain != nil {
		l.lost[full] = true
		l.fail(&Error{File: p, Line: line(plain), Column: column(plain), ID: full, What: "anchors, aliases and tags are not used here", Mend: "write the value out"})
		return
	}
	if err := rd.add(id, item.Value); err != nil {
		l.lost[full] = true
		l.undecoded(p, full, here, rd, err)
	}
}

// undecoded reports everything that keeps an item from being decoded.
func (l *loader) undecoded(p, full string, here origin, rd reader, err error) {
	mend := "check the spelling against " + path.Dir(p) + " items already there, or remove the line"
	for _, e := range Undecoded(p, here.node, rd.sample, mend, yamlError(p, full, here.key, err)) {
		e.ID = full
		l.fail(e)
	}
}

// unplain finds an anchor, alias or tag: what it stands for would be hidden from
// whoever reads the file, and one that holds itself has no end.
func unplain(n ast.Node) *token.Token {
	var found *token.Token
	ast.Walk(visitor(func(n ast.Node) bool {
		switch n.(type) {
		case *ast.AnchorNode, *ast.AliasNode, *ast.TagNode, *ast.MergeKeyNode:
			if found == nil {
				found = n.GetToken()
			}
		}
		return found == nil
	}), n)
	return found
}

type visitor func(ast.Node) bool

func (v visitor) Visit(n ast.Node) ast.Visitor {
	if v(n) {
		return v
	}
	return nil
}

// into decodes an item strictly into a map by id; a later layer replaces.
func into[K ~string, T any](m *map[K]*T) reader {
	return reader{sample: reflect.TypeFor[T](), add: func(id string, node ast.Node) error {
		v := new(T)
		if *m == nil {
			*m = map[K]*T{}
		}
		(*m)[K(id)] = v // even if it cannot be read: it is meant to exist
		return yaml.NodeToValue(node, v, yaml.Strict())
	}}
}

func intoText(m *Phrases) reader {
	return reader{sample: reflect.TypeFor[string](), add: func(id string, node ast.Node) error {
		var v string
		if *m == nil {
			*m = Phrases{}
		}
		err := yaml.NodeToValue(node, &v, yaml.Strict())
		(*m)[id] = v
		return err
	}}
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
