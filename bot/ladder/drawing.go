package ladder

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
)

// Drawing is a unit's wiring with what is marked on it, ready to be drawn in any
// medium.
type Drawing struct {
	net     *netlist
	marking Marking
	words   words
}

// words are the phrases of the drawing's language.
type words map[string]string

// say gives a phrase, or its id where there is none.
func (w words) say(id string) string { return cmp.Or(w[id], id) }

// or gives the phrase for a name of the netlist, or the name itself: a shop may have
// places and colours nobody here has heard of.
func (w words) or(kind, name string) string { return cmp.Or(w["drawing-"+kind+"-"+name], name) }

// Draw reads the wiring of an equipment. It says what the knowledge says, in its
// language; the error names what there is no knowledge of.
func Draw(base *knowledge.Base, equipment string, marking Marking) (Drawing, error) {
	n, err := read(base, equipment)
	if err != nil {
		return Drawing{}, err
	}
	return Drawing{net: n, marking: marking, words: words(base.Phrases)}, nil
}

// rung is how many elements lie on a rung of a picture before what leads to it stands in
// the rails: words stay large enough to read on a phone held across.
const rung = 5

func (d *Drawing) sheet(m *metrics, limit int) *sheet {
	return newDraft(d, m, limit).sheet()
}

// Title is the unit's name.
func (d *Drawing) Title() string { return d.net.title }

// Description says in words what is marked, a sentence a kind of mark, for those who do
// not see the picture.
func (d *Drawing) Description() string {
	var out []string
	list := func(phrase string, what []string) {
		if len(what) > 0 {
			out = append(out, d.words.say(phrase)+": "+strings.Join(what, ", ")+".")
		}
	}
	m := &d.marking
	list("drawing-good", d.names(func(p *part) string { return p.name }, m.Good))
	list("drawing-suspect", d.names(func(p *part) string { return p.name + " " + percent(m.Suspects[p.id]) }, m.Suspects))
	list("drawing-open", d.names(func(p *part) string { return p.name }, m.Open))
	list("drawing-absent", d.names(func(p *part) string { return p.name }, m.Absent))
	var measured []string
	for _, v := range m.Values {
		at := d.net.nodes[v.Node].Name
		if p := d.net.part(v.Component); p != nil {
			at = p.name
		}
		if at != "" {
			measured = append(measured, at+" "+v.Text)
		}
	}
	list("drawing-value", measured)
	if m.Meter != nil {
		list(m.Meter.Name, d.leads())
	}
	return strings.Join(out, " ")
}

// leads says where the meter's leads or jaw go.
func (d *Drawing) leads() []string {
	var out []string
	m := d.marking.Meter
	for _, id := range m.Clamp {
		if p := d.net.part(id); p != nil {
			out = append(out, d.words.say("drawing-clamp")+" "+p.name)
		}
	}
	for _, l := range [][2]string{{"drawing-red", m.Red}, {"drawing-black", m.Black}} {
		if n, ok := d.net.nodes[l[1]]; ok {
			out = append(out, d.words.say(l[0])+" "+n.Name)
		}
	}
	return out
}

func (n *netlist) part(id string) *part {
	for _, p := range n.parts {
		if p.id == id {
			return p
		}
	}
	return nil
}

// names lists marked parts in the order of the netlist.
func (d *Drawing) names(say func(*part) string, marked any) []string {
	has := func(id string) bool {
		switch m := marked.(type) {
		case map[string]bool:
			return m[id]
		case map[string]float64:
			_, ok := m[id]
			return ok
		}
		return false
	}
	var out []string
	for _, p := range d.net.parts {
		if has(p.id) {
			out = append(out, say(p))
		}
	}
	return out
}

func keys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
