package understand

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
)

// Reader understands messages by one body of knowledge. It is never changed
// after New and safe for concurrent use.
type Reader struct {
	base      *knowledge.Base
	vocab     *vocabulary
	phrases   trie // longest phrase: components, relations, quantities, states, tools, small words
	small     trie // small words alone, whatever longer phrase they are part of
	units     trie
	sounds    trie
	unitLists [][]unit
	said      [][]string
	scales    []spoken // scales degrees may be in, by language
	patterns  patterns
	byUnit    map[string][]string // quantities kept in a unit
	numbers   map[int32]float64
	numberIn  map[int32]languages // the languages a word is a number in
	languages []string            // beside English
	glosses   map[string]*gloss
	words     map[string]map[string][]string // single words of the glosses
	suffix    map[int32]bool                 // letters that may be glued to a figure without being a unit
	code      map[int32]bool
	closes    map[int32]bool // words after which "a" behind a figure is still a unit

	components map[string]*component
	states     map[string]*state
	pairs      map[[2]string][]knowledge.ReadingID
	rows       [][]knowledge.ReadingID
	fits       map[knowledge.ReadingID][2]float64
	guesses    map[string][]knowledge.ReadingID
	opposites  map[string]map[string]string
	answers    map[string][]answer // by fact: words that answer it when asked
	factNumber map[string]bool
	sizes      map[string][]float64 // by fact: figures the thing is made in
	moved      map[int32]bool       // "went", "dropped": what follows "from" is past
	factWith   map[string]string    // the fact a second figure states
	supersedes map[string][]string
	falling    []*component          // parts with two ratings, the larger said first
	dangling   map[relation][]string // components meant by a relation said of nothing
	homes      map[knowledge.ReadingID][]home
	paired     map[knowledge.ReadingID]bool                // readings between two terminals
	only       map[string]knowledge.ReadingID              // the reading of a quantity that has one
	measured   map[string][]knowledge.ReadingID            // by what is seen, where it is measured
	sided      []*component                                // parts with two sides or two readings
	twins      map[knowledge.ReadingID]knowledge.ReadingID // the two ends of a wire, one at each unit
	ofTheDay   map[knowledge.ReadingID]bool                // conditions outdoors, whatever the machine does
	second     *second                                     // the reader that is asked where this one is puzzled
}

// ratingJoin is what may stand between the two ratings of one part: "45/5".
const ratingJoin = "/|+|&|by|plus|slash|dash|-"

type answer struct {
	elems []element
	value string
}

// New prepares a reader from the knowledge's lexicon and quantities. The error
// names every id of the lexicon the knowledge does not have, with its place.
func New(base *knowledge.Base) (*Reader, error) {
	if errs := base.CheckLexicon(); len(errs) > 0 {
		return nil, fmt.Errorf("preparing to understand messages: %w", errs)
	}
	if len(base.Lexicon.Parts) == 0 {
		return nil, fmt.Errorf("preparing to understand messages: the knowledge has no lexicon; add files under lexicon/en/")
	}
	r := &Reader{
		base: base, vocab: newVocabulary(), numbers: map[int32]float64{}, numberIn: map[int32]languages{}, glosses: map[string]*gloss{}, words: map[string]map[string][]string{},
		components: map[string]*component{}, pairs: map[[2]string][]knowledge.ReadingID{},
		fits: map[knowledge.ReadingID][2]float64{}, guesses: map[string][]knowledge.ReadingID{},
		opposites: map[string]map[string]string{}, answers: map[string][]answer{}, factNumber: map[string]bool{}, sizes: map[string][]float64{}, moved: map[int32]bool{}, factWith: map[string]string{},
		paired: map[knowledge.ReadingID]bool{}, measured: map[string][]knowledge.ReadingID{}, only: map[string]knowledge.ReadingID{}, states: map[string]*state{}, dangling: map[relation][]string{}, homes: map[knowledge.ReadingID][]home{}, supersedes: map[string][]string{},
	}
	parts := base.Lexicon.Sorted()
	for _, p := range parts {
		r.compileGloss(p)
	}
	for _, p := range parts {
		r.enter(p)
		r.closed(p)
	}
	r.leave()
	r.compileUnits()
	r.compileOnly()
	for _, p := range parts {
		r.enter(p)
		r.open(p)
	}
	for _, p := range parts {
		r.enter(p)
		r.otherWords(p)
	}
	r.leave()
	r.derived()
	r.compileHomes()
	for _, p := range parts {
		r.enter(p)
		r.compilePatterns(p)
	}
	r.leave()
	r.suffix = r.set("ish", "s", "st", "nd", "rd", "th", "x", "k", "am", "pm", "yo", "yr")
	r.code = r.set()
	r.closes = r.set("and", "on", "at", "but", "with", "now", "from", "to", "for", "or", "off", "out", "across", "when", "while", "after", "before", "then", "is")
	for id := range r.numbers {
		delete(r.vocab.trade, id) // no figure comes from a misspelt word
	}
	r.vocab.index()
	r.ofTheDay = map[knowledge.ReadingID]bool{}
	for _, f := range base.Facts {
		if k := base.Measurements[knowledge.ReadingID(f.From)]; f.Condition && k != nil && k.Place == "outdoor" {
			r.ofTheDay[knowledge.ReadingID(f.From)] = true
		}
	}
	var err error
	r.second, err = newSecond(r)
	return r, err
}

func (r *Reader) set(words ...string) map[int32]bool {
	out := map[int32]bool{}
	for _, w := range words {
		out[r.vocab.intern(w)] = true
	}
	return out
}

// phrase enters a phrase in a trie; trade words in it may be misspelt.
func (r *Reader) phrase(t *trie, words string, m meaning, trade bool) {
	elems := r.vocab.parsePhrase(words)
	m.in = r.vocab.lang
	t.add(elems, m)
	if !trade {
		return
	}
	for _, e := range elems {
		for _, alt := range e.words {
			for _, id := range alt {
				r.vocab.trade[id] = true
			}
		}
	}
}

// closed enters the parts of the lexicon that need nothing else: number words,
// small words, tools and everyday words.
func (r *Reader) closed(p *knowledge.LexiconPart) {
	for _, w := range slices.Sorted(maps.Keys(p.Numbers)) {
		id := r.vocab.intern(fold(w))
		r.numbers[id] = p.Numbers[w]
		r.numberIn[id] |= r.vocab.lang
	}
	if p.Scale != "" {
		r.scales = append(r.scales, spoken{r.vocab.lang, p.Scale})
	}
	for _, w := range p.Ordinary {
		r.vocab.intern(fold(w))
	}
	for _, w := range []string{"hundred", "thousand", "point", "and", "oh", "o", "half", "quarter", "a", "to", "over"} {
		r.vocab.intern(w)
	}
	for _, name := range slices.Sorted(maps.Keys(p.Words)) {
		m := meaning{kind: isSmall, word: smallWords[name]}
		for _, w := range p.Words[name] {
			if m.word < wordWhich {
				r.phrase(&r.phrases, w, m, false)
			}
			r.phrase(&r.small, w, m, false)
		}
	}
	for _, w := range p.Words["moved"] {
		r.moved[r.vocab.intern(w)] = true
	}
	for _, w := range p.Between {
		r.phrase(&r.small, w, meaning{kind: isSmall, word: wordBetween}, false)
	}
	for _, name := range slices.Sorted(maps.Keys(p.Tools)) {
		for _, w := range p.Tools[name] {
			r.phrase(&r.phrases, w, meaning{kind: isTool, tool: name}, true)
			if q := p.Measures[name]; q != "" {
				r.phrase(&r.phrases, w, meaning{kind: isQuantity, quantity: q}, true)
			}
		}
	}
	for _, heard := range slices.Sorted(maps.Keys(p.Sounds)) {
		var said []string
		for _, t := range tokenize(p.Sounds[heard]) {
			r.vocab.intern(t.text)
			said = append(said, t.text)
		}
		r.phrase(&r.sounds, heard, meaning{kind: isSound, index: len(r.said)}, false)
		r.said = append(r.said, said)
	}
}

// compileOnly finds the quantities that are read at one point alone.
func (r *Reader) compileOnly() {
	n := map[string]int{}
	for id := range r.base.Measurements {
		n[id.Quantity()]++
		r.only[id.Quantity()] = id
	}
	for q := range n {
		if n[q] > 1 {
			delete(r.only, q)
		}
	}
}

// compileUnits gathers the quantities each unit word may belong to.
func (r *Reader) compileUnits() {
	byWords := map[string][]unit{}
	r.byUnit = map[string][]string{}
	for _, q := range slices.Sorted(maps.Keys(r.base.Quantities)) {
		r.byUnit[r.base.Quantities[q].Unit] = append(r.byUnit[r.base.Quantities[q].Unit], q)
		for _, u := range r.base.Quantities[q].Units {
			for _, w := range u.Words {
				key := fold(w)
				byWords[key] = append(byWords[key], unit{quantity: q, name: u.Name, factor: u.Factor, offset: u.Offset, kept: u.Factor == 1 && u.Offset == 0})
			}
		}
	}
	opensScale(byWords)
	for _, w := range slices.Sorted(maps.Keys(byWords)) {
		r.phrase(&r.units, w, meaning{kind: isUnit, index: len(r.unitLists)}, false)
		r.unitLists = append(r.unitLists, byWords[w])
	}
}

// open enters components, relations, quantities and states.
func (r *Reader) open(p *knowledge.LexiconPart) {
	for _, name := range slices.Sorted(maps.Keys(p.Components)) {
		if !p.Components[name].WordsOnly() {
			r.component(name, p.Components[name])
		}
	}
	relations := map[string]relation{"at": relAt, "across": relAcross, "out": relOut, "in": relIn, "ground": relGround}
	for _, name := range slices.Sorted(maps.Keys(p.Relations)) {
		for _, w := range p.Relations[name] {
			r.phrase(&r.phrases, w, meaning{kind: isRelation, rel: relations[name]}, false)
		}
	}
	for _, q := range slices.Sorted(maps.Keys(p.Quantities)) {
		for _, w := range p.Quantities[q] {
			r.phrase(&r.phrases, w, meaning{kind: isQuantity, quantity: q}, true)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.States)) {
		if len(p.States[name].Of) == 0 {
			continue
		}
		s := &state{name: name, StateWords: p.States[name]}
		r.states[name] = s
		kind := isState
		if s.Answer {
			kind = isAnswer
		}
		for _, w := range s.Words {
			r.phrase(&r.phrases, w, meaning{kind: kind, state: s}, true)
		}
	}
	for k, ids := range p.Pairs {
		if a, b, ok := strings.Cut(k, " "); ok {
			r.pairs[[2]string{a, b}], r.pairs[[2]string{b, a}] = ids, ids
			for _, id := range ids {
				r.paired[id] = true
			}
		}
	}
	r.rows = append(r.rows, p.Rows...)
	maps.Copy(r.fits, p.Fits)
	for q, ids := range p.Guesses {
		r.guesses[q] = append(r.guesses[q], ids...)
	}
	for rel, names := range p.Dangling {
		r.dangling[relations[rel]] = append(r.dangling[relations[rel]], names...)
	}
	maps.Copy(r.supersedes, p.Supersedes)
	for subject, of := range p.Opposites {
		if r.opposites[subject] == nil {
			r.opposites[subject] = map[string]string{}
		}
		maps.Copy(r.opposites[subject], of)
	}
}

func (r *Reader) component(name string, w *knowledge.ComponentWords) {
	c := &component{name: name, ComponentWords: w, order: len(r.components)}
	r.components[name] = c
	if w.Falling && len(w.Both) == 2 {
		r.falling = append(r.falling, c)
	}
	for _, phrase := range w.Words {
		r.phrase(&r.phrases, phrase, meaning{kind: isComponent, comp: c}, true)
	}
}

// derived enters the components of netlists the lexicon does not name, by their
// own name, with the readings generated for them.
func (r *Reader) derived() {
	for _, circuit := range slices.Sorted(maps.Keys(r.base.Circuits)) {
		for i := range r.base.Circuits[circuit].Components {
			c := &r.base.Circuits[circuit].Components[i]
			if r.components[c.ID] != nil {
				continue
			}
			w := &knowledge.ComponentWords{
				Words:  []string{strings.TrimPrefix(fold(c.Name), "the "), strings.ReplaceAll(c.ID, "-", " ")},
				Out:    r.existing("voltage/" + c.ID + "-out"),
				Across: r.existing("voltage/across-"+c.ID, "resistance/"+c.ID),
				At:     r.existing("resistance/"+c.ID, "voltage/across-"+c.ID, "voltage/"+c.ID+"-out"),
				Torn:   true,
				Place:  c.Place,
			}
			if len(w.At) > 0 {
				r.component(c.ID, w)
			}
		}
	}
}

func (r *Reader) existing(ids ...string) []knowledge.ReadingID {
	var out []knowledge.ReadingID
	for _, id := range ids {
		if m := r.base.Measurements[knowledge.ReadingID(id)]; m != nil {
			out = append(out, knowledge.ReadingID(id))
		}
	}
	return out
}
