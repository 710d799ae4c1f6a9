package knowledge

import (
	"maps"
	"path"
	"regexp"
	"slices"
	"strings"
)

// Words are the texts of one item in another language, each under the name of the
// field that holds it in the item. They stand under phrases/, in a folder named by
// the language, in a file or folder named by the item's section:
// phrases/es/faults.yaml.
type Words struct {
	Name    string            `yaml:"name"`
	Short   string            `yaml:"short"`
	Part    string            `yaml:"part"`
	Repair  string            `yaml:"repair"`
	Brief   string            `yaml:"brief"`
	Point   string            `yaml:"point"`
	Setting string            `yaml:"setting"`
	Leads   string            `yaml:"leads"`
	Note    string            `yaml:"note"`
	Ask     string            `yaml:"ask"`
	Failed  string            `yaml:"failed"`
	Text    string            `yaml:"text"`
	States  map[string]string `yaml:"states"`
	Answers map[string]string `yaml:"answers"`
	// Nodes and Components are the names in a netlist, by id.
	Nodes      map[string]string `yaml:"nodes"`
	Components map[string]string `yaml:"components"`
}

// tongue is what is said in one language besides English.
type tongue struct {
	phrases Phrases
	items   map[string]map[string]*Words // by section, then id
}

// spokenSections hold items with texts a person reads.
func spokenSections() []string {
	return []string{"cautions", "checks", "circuits", "equipment", "facts", "faults", "measurements", "observations"}
}

var languageTag = regexp.MustCompile(`^[a-z]{2}$`)

// tongueOf says of a file under phrases/ which language's words it holds and, in
// section, whose: the items of a section, or "" for the phrases. English has its
// words in the items themselves, and a shop names its files as it likes.
func tongueOf(p string) (language, section string, ok bool) {
	parts := strings.Split(strings.TrimSuffix(p, path.Ext(p)), "/")
	if parts[0] != "phrases" || len(parts) < 2 || !languageTag.MatchString(parts[1]) || parts[1] == "en" {
		return "", "", false
	}
	if len(parts) > 2 {
		section = parts[2]
	}
	return parts[1], section, true
}

// sectionOf gives the section a file's items belong to, and what reads them. The
// words of a language are a section of their own: phrases/es/faults.
func (b *Base) sectionOf(p string, sections map[string]reader) (section string, rd reader, ok bool) {
	language, of, foreign := tongueOf(p)
	if !foreign {
		section, _, _ = strings.Cut(p, "/")
		rd, ok = sections[section]
		return section, rd, ok
	}
	if b.tongues == nil {
		b.tongues = map[string]*tongue{}
	}
	t := b.tongues[language]
	if t == nil {
		t = &tongue{items: map[string]map[string]*Words{}}
		b.tongues[language] = t
	}
	if of == "" {
		return "phrases/" + language, intoText(&t.phrases), true
	}
	section = "phrases/" + language + "/" + of
	if !slices.Contains(spokenSections(), of) {
		return section, reader{}, false
	}
	m := t.items[of]
	if m == nil {
		m = map[string]*Words{}
		t.items[of] = m
	}
	return section, into(&m), true
}

// wording is one text of an item: where it stands, what it says, and how to say it
// in another language.
type wording struct {
	keys []any
	own  string
	in   string
	set  func(string)
	// must: the other language has to say it although English has no words for it
	// and reads the id; may: it need not.
	must, may bool
}

func plainly(key string, own *string, in string) wording {
	return wording{keys: []any{key}, own: *own, in: in, set: func(s string) { *own = s }}
}

func must(w wording) wording {
	w.must = true
	return w
}

// eachText pairs the texts of a map: those of ids, and whatever else was written.
func eachText(key string, own *map[string]string, in map[string]string, ids []string) []wording {
	*own = maps.Clone(*own)
	var out []wording
	for _, k := range slices.Compact(slices.Sorted(slices.Values(slices.Concat(ids, keysOf(*own), keysOf(in))))) {
		out = append(out, wording{keys: []any{key, k}, own: (*own)[k], in: in[k], must: slices.Contains(ids, k), set: func(s string) {
			if *own == nil {
				*own = map[string]string{}
			}
			(*own)[k] = s
		}})
	}
	return out
}

func (f *Fault) wordings(w *Words) []wording {
	return []wording{plainly("name", &f.Name, w.Name), plainly("short", &f.Short, w.Short), plainly("part", &f.Part, w.Part), plainly("repair", &f.Repair, w.Repair), plainly("brief", &f.Brief, w.Brief)}
}

func (m *Measurement) wordings(w *Words) []wording {
	return []wording{
		plainly("name", &m.Name, w.Name), must(plainly("point", &m.Point, w.Point)), plainly("setting", &m.Setting, w.Setting),
		plainly("leads", &m.Leads, w.Leads), plainly("note", &m.Note, w.Note),
	}
}

func (o *Observation) wordings(w *Words) []wording {
	out := []wording{must(plainly("name", &o.Name, w.Name)), plainly("ask", &o.Ask, w.Ask)}
	states := keysOf(o.States)
	return slices.Concat(out, eachText("states", &o.States, w.States, nil), eachText("answers", &o.Answers, w.Answers, states))
}

func (f *Fact) wordings(w *Words) []wording {
	out := []wording{plainly("name", &f.Name, w.Name), plainly("ask", &f.Ask, w.Ask)}
	for _, x := range eachText("answers", &f.Answers, w.Answers, f.Values) {
		x.must, x.may = false, x.must // a name or a figure is said alike
		out = append(out, x)
	}
	return out
}

func (c *Check) wordings(w *Words) []wording {
	return []wording{must(plainly("name", &c.Name, w.Name)), plainly("ask", &c.Ask, w.Ask), plainly("failed", &c.Failed, w.Failed)}
}

func (c *Caution) wordings(w *Words) []wording {
	return []wording{plainly("text", &c.Text, w.Text), plainly("brief", &c.Brief, w.Brief)}
}

func (c *Circuit) wordings(w *Words) []wording {
	c.Nodes, c.Components = maps.Clone(c.Nodes), slices.Clone(c.Components)
	return append(wiringWords(c.Nodes, c.Components, w), plainly("name", &c.Name, w.Name))
}

func (e *Equipment) wordings(w *Words) []wording {
	e.Nodes, e.Components = maps.Clone(e.Nodes), slices.Clone(e.Components)
	return append(wiringWords(e.Nodes, e.Components, w), plainly("name", &e.Name, w.Name))
}

// wiringWords pairs the names in a netlist, which is changed in place.
func wiringWords(nodes map[string]Node, components []Component, w *Words) []wording {
	var out []wording
	for _, id := range slices.Compact(slices.Sorted(slices.Values(slices.Concat(keysOf(nodes), keysOf(w.Nodes))))) {
		out = append(out, wording{keys: []any{"nodes", id}, own: nodes[id].Name, in: w.Nodes[id], set: func(s string) {
			n := nodes[id]
			n.Name = s
			nodes[id] = n
		}})
	}
	has := map[string]bool{}
	for i := range components {
		c := &components[i]
		has[c.ID] = true
		out = append(out, wording{keys: []any{"components", c.ID}, own: c.Name, in: w.Components[c.ID], set: func(s string) { c.Name = s }})
	}
	for _, id := range keysOf(w.Components) {
		if !has[id] {
			out = append(out, wording{keys: []any{"components", id}, in: w.Components[id], set: func(string) {}})
		}
	}
	return out
}

// worded is an item with texts; *T is one for every T of the spoken sections.
type worded[T any] interface {
	*T
	wordings(w *Words) []wording
}

// translated is a section with the words of a language wherever they are newer than
// the item: what a shop says in its own words is not said over it in others'.
func translated[K ~string, T any, P worded[T]](b *Base, language, section string, items map[K]*T) map[K]*T {
	words := b.tongues[language].items[section]
	out := make(map[K]*T, len(items))
	for id, item := range items {
		out[id] = item
		w := words[string(id)]
		if w == nil || !b.current(section+"/"+string(id), inTongue(language, section, string(id))) {
			continue
		}
		n := *item
		for _, x := range P(&n).wordings(w) {
			if x.in != "" {
				x.set(x.in)
			}
		}
		out[id] = &n
	}
	return out
}

// current says whether the words of a language are as new as what they say.
func (b *Base) current(item, words string) bool { return b.where[item].layer <= b.where[words].layer }

func inTongue(language, section, id string) string {
	return "phrases/" + language + "/" + section + "/" + id
}

// Languages lists the languages something is said in besides English.
func (b *Base) Languages() []string { return keysOf(b.tongues) }

// In is the knowledge as it is said in a language: the same items with its words.
// Where a language has none it is the knowledge itself.
func (b *Base) In(language string) *Base {
	t := b.tongues[language]
	if t == nil {
		return b
	}
	n := *b
	n.Language = language
	n.Phrases = maps.Clone(b.Phrases)
	for id, text := range t.phrases {
		if b.current("phrases/"+id, "phrases/"+language+"/"+id) {
			n.Phrases[id] = text
		}
	}
	n.Faults = translated(b, language, "faults", b.Faults)
	n.Measurements = translated(b, language, "measurements", b.Measurements)
	n.Observations = translated(b, language, "observations", b.Observations)
	n.Facts = translated(b, language, "facts", b.Facts)
	n.Circuits = translated(b, language, "circuits", b.Circuits)
	n.Equipment = translated(b, language, "equipment", b.Equipment)
	n.Checks = translated(b, language, "checks", b.Checks)
	n.Cautions = translated(b, language, "cautions", b.Cautions)
	return &n
}
