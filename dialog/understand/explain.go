package understand

import (
	"fmt"
	"slices"
	"strings"

	"proveout/dialog/tagger"
)

// The rules that put a value at a place, as an explanation names them.
const (
	byPlace      = "the place named beside it"
	byPair       = "two values in a row"
	byAll        = "one value for every side"
	byShare      = "the value of the place joined to it"
	byUnit       = "the only point with this unit"
	byRating     = "the rating it is near"
	byCarry      = "the place named before, by its unit"
	bySighting   = "the point of what was asked about"
	byAsked      = "what was asked"
	byAskedPoint = "the point that was asked, in another quantity"
	byOtherSide  = "the other side of what was read last"
	byRecord     = "the record"
	byCorrection = "the place of what it corrects"
)

// Explanation shows how a message was read, for whoever mends the lexicon.
type Explanation struct {
	Tokens   []string // every word as it was taken: as written, or "written=taken"
	Unknown  []string // words the lexicon does not know
	Phrases  []string // the lexicon's phrases found, with what each can mean
	Values   []string // figures and words for figures, and what became of them
	Places   []string // where a lead can be put, with the readings possible there
	Readings []string // each reading and the rule that won
	Tags     []string // words in a slot by the tagger, or unknown, and how certain it is
	Second   []string // what the second reader made of what the first left
}

// Explain reads a message as Understand does and tells how. Only the first block
// of an endless message is explained.
func (r *Reader) Explain(text string, ctx Context) Explanation {
	m := r.follow(text[:cutAt(text, block)], ctx)
	var x Explanation
	for _, t := range m.toks {
		word := strings.TrimSpace(m.text[t.start:t.end])
		taken := t.text
		if t.id != unknown {
			taken = r.vocab.words[t.id]
		}
		if fold(word) != taken && word != "" {
			word += "=" + taken
		}
		x.Tokens = append(x.Tokens, word)
		if t.kind == wordToken && t.id == unknown {
			x.Unknown = append(x.Unknown, word)
		}
	}
	for i := range m.chunks {
		x.Phrases = append(x.Phrases, m.explainChunk(&m.chunks[i]))
	}
	for i := range m.values {
		x.Values = append(x.Values, m.explainValue(&m.values[i]))
	}
	for i := range m.places {
		p := &m.places[i]
		x.Places = append(x.Places, fmt.Sprintf("%q can be %v", m.words(p.first, p.last), append(slices.Clip(p.ids), p.both...)))
	}
	for i := range m.found {
		f := &m.found[i]
		x.Readings = append(x.Readings, fmt.Sprintf("%s = %s: %s", f.id, m.figureText(&m.values[f.value]), f.rule))
	}
	x.Tags, x.Second = r.explainTags(m), m.notes
	return x
}

// explainTags tells what the tagger takes the words for that it gives a slot and
// those nobody knows.
func (r *Reader) explainTags(m *message) []string {
	var out []string
	words, results := r.Tagged(m.text)
	for i, res := range results {
		if res.Tag != tagger.Outside || words[i].Kind == tagger.Letters && r.vocab.id(words[i].Text) == unknown {
			out = append(out, fmt.Sprintf("%s %s %.2f", m.text[words[i].Start:words[i].End], res.Tag, res.Certain))
		}
	}
	return out
}

func (m *message) words(first, last int) string {
	if first >= last {
		return ""
	}
	return m.text[m.toks[first].start:m.toks[last-1].end]
}

func (m *message) explainChunk(c *chunk) string {
	var means []string
	for i := range c.means {
		switch x := &c.means[i]; x.kind {
		case isComponent:
			means = append(means, "component "+x.comp.name)
		case isRelation:
			means = append(means, "relation "+[...]string{"at", "across", "out", "in", "ground"}[x.rel])
		case isQuantity:
			means = append(means, "quantity "+x.quantity)
		case isState, isAnswer:
			means = append(means, "state "+x.state.name)
		case isTool:
			means = append(means, "instrument "+x.tool)
		case isSmall:
			means = append(means, "word "+smallName(x.word))
		default: // a unit or a sound stands for no meaning of its own
		}
	}
	return fmt.Sprintf("%q: %s", m.words(c.first, c.last), strings.Join(means, ", "))
}

func smallName(w smallWord) string {
	for name, x := range smallWords {
		if x == w {
			return name
		}
	}
	return ""
}

func (m *message) explainValue(v *value) string {
	became := [...]string{open: "nobody's", aside: "no reading", struck: "taken back", spent: "asked about or a fact", placed: "a reading"}[v.use]
	unit := ""
	if len(v.units) > 0 {
		unit = " (" + v.units[0].name + ")"
	}
	return fmt.Sprintf("%q = %v%s: %s", m.words(v.first, v.last), v.v, unit, became)
}
