package knowledge

import (
	"fmt"
	"maps"
	"slices"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
)

// Lexicon holds the ways of saying things: parts by id, such as "en/points". A
// shop adds a part under an id of its own, or replaces one by using its id.
type Lexicon struct {
	Parts map[string]*LexiconPart
}

// LexiconPart is one file's worth of words in one language. Every list of words
// takes phrases in which a|b means either word and [x] an optional one.
// Patterns (intents, facts, hazards, machine, aside, lacks, unreached) may also
// hold <n> for a number, <part> for a component, <tool> for an instrument, <start> and <end> for
// the ends of a sentence, <stop> for its end or a comma, and ...
// for up to three words of any kind.
type LexiconPart struct {
	Language string `yaml:"language"`
	// Components are the things a lead, gauge or eye can be put on.
	Components map[string]*ComponentWords `yaml:"components"`
	// Relations say where about a component: at, across, out, in, ground.
	Relations map[string][]string `yaml:"relations"`
	// Dangling are the components meant by a relation said of nothing: "75 in".
	Dangling map[string][]string `yaml:"dangling"`
	// Between are the words joining two terminals: "to", "and".
	Between []string `yaml:"between"`
	// Pairs give the readings between two terminals, written "r c".
	Pairs map[string][]ReadingID `yaml:"pairs"`
	// Rows are pairs of readings given without a name, the first pair said, then
	// the second.
	Rows [][]ReadingID `yaml:"rows"`
	// Quantities are words that name a quantity without a figure.
	Quantities map[string][]string `yaml:"quantities"`
	// Fits is where a value of the reading usually lies: it tells two meanings
	// apart and is never a limit.
	Fits map[ReadingID][2]float64 `yaml:"fits"`
	// Guesses are the readings to offer for a number of a quantity nobody placed,
	// likeliest first.
	Guesses map[string][]ReadingID `yaml:"guesses"`
	// States are the words for what is seen of a thing.
	States map[string]*StateWords `yaml:"states"`
	// Seen are patterns that tell a state, by its name among States.
	Seen map[string][]string `yaml:"seen"`
	// Opposites give the state a negated one means: subject, state, opposite. The
	// subject "any" holds for all.
	Opposites map[string]map[string]string `yaml:"opposites"`
	// Words are the small closed groups: not, nothing, infinite, continuity, same,
	// yes, no, reads, about, present, correct, former, now, and, filler.
	Words map[string][]string `yaml:"words"`
	// Numbers are the number words and what each is worth.
	Numbers map[string]float64 `yaml:"numbers"`
	// Supersedes names the plainer states a telling one replaces.
	Supersedes map[string][]string `yaml:"supersedes"`
	// Measures names the quantity a tool tells without its being said.
	Measures map[string]string `yaml:"measures"`
	// Tools are the instruments, by the names measurements use.
	Tools map[string][]string `yaml:"tools"`
	// Intents, Hazards and Machine (states of the machine) are patterns by id.
	Intents map[string][]string `yaml:"intents"`
	// Bare are patterns of intents that count only in a message that does not
	// answer what was asked: "done".
	Bare    map[string][]string `yaml:"bare"`
	Hazards map[string][]string `yaml:"hazards"`
	Machine map[string][]string `yaml:"machine"`
	// Commands are forms of a whole message by what is asked of the service.
	Commands map[string][]string `yaml:"commands"`
	// Facts are patterns by fact.
	Facts map[string]*FactWords `yaml:"facts"`
	// Aside are patterns whose numbers are not readings.
	Aside []string `yaml:"aside"`
	// Hearsay are patterns that make the readings of their sentence somebody
	// else's or another day's.
	Hearsay []string `yaml:"hearsay"`
	// Sounds maps what voice typing hears, or what is said in a roundabout way, to
	// the words the lexicon reads.
	Sounds map[string]string `yaml:"sounds"`
	// Gloss gives the small words of a language by those of English, whose order
	// the grammar reads, where a message is in it: "después de" is "after". Its
	// phrases elsewhere in the part are glossed alike.
	Gloss map[string]string `yaml:"gloss"`
	// Scale names the unit that degrees said without one may be in, where the language
	// is spoken, besides the one temperatures are kept in.
	Scale string `yaml:"scale"`
	// Ordinary are everyday words, never taken for a misspelt word of the trade.
	Ordinary []string `yaml:"ordinary"`
}

// ComponentWords is how a component is said and which reading each relation to
// it means; in every list the first reading that fits the unit and the value is
// meant.
type ComponentWords struct {
	Words []string `yaml:"words"`
	// At is meant with no relation said; Across falls back on it.
	At     []ReadingID `yaml:"at"`
	Across []ReadingID `yaml:"across"`
	Out    []ReadingID `yaml:"out"`
	In     []ReadingID `yaml:"in"`
	Ground []ReadingID `yaml:"ground"`
	// Also are meant only when their unit or quantity is said.
	Also []ReadingID `yaml:"also"`
	// Indoors replaces At when the talk is at the indoor unit or thermostat.
	Indoors []ReadingID `yaml:"indoors"`
	// Torn says that when several of At fit, the person must be asked.
	Torn bool `yaml:"torn"`
	// Both are readings two values in a row fill, smaller first unless Falling;
	// one value fills them all when All.
	Both    []ReadingID `yaml:"both"`
	Falling bool        `yaml:"falling"`
	All     bool        `yaml:"all"`
	// State is the machine state the words themselves tell.
	State string `yaml:"state"`
	// Terminal is the letter in Pairs.
	Terminal string `yaml:"terminal"`
	// Bare is the band a figure with no unit must lie in to be read here, where a
	// unit is needed otherwise.
	Bare [2]float64 `yaml:"bare"`
	// Seen is the state of its subject that naming it already tells.
	Seen string `yaml:"seen"`
	// Beside names components of which one must be named too for At to count.
	Beside []string `yaml:"beside"`
	// Bounces are the observations a reading here that jumps about tells.
	Bounces map[string]string `yaml:"bounces"`
	// OneOf names the components a general word may stand for ("the switch"): the
	// last one spoken of is meant.
	OneOf []string `yaml:"one-of"`
	// Apart says that the subjects are alternatives the place must settle.
	Apart bool `yaml:"apart"`
	// Pairs replace the reading between two terminals when they are said to be
	// here, written "y c".
	Pairs map[string][]ReadingID `yaml:"pairs"`
	// Subjects are the observations a state word about it belongs to.
	Subjects []string `yaml:"subjects"`
	// Place is where it stands: indoor or outdoor; it settles the others' place.
	Place string `yaml:"place"`
	// Point marks a place for leads rather than a load: "dead" there means 0 V.
	Point bool `yaml:"point"`
}

// WordsOnly tells a component that only gives more words for one another part, mostly
// of another language, describes.
func (w *ComponentWords) WordsOnly() bool {
	return len(w.At)+len(w.Across)+len(w.Out)+len(w.In)+len(w.Ground)+len(w.Also)+len(w.Both)+len(w.Subjects)+len(w.OneOf) == 0 && w.Terminal == ""
}

// StateWords is one way of being, and which state of which subject it is.
type StateWords struct {
	Words []string `yaml:"words"`
	// Of gives the state for each subject it can be said of.
	Of map[string]string `yaml:"of"`
	// Alone is the subject meant when none is named.
	Alone string `yaml:"alone"`
	// All says that every subject is meant when none is named: "nothing runs".
	All bool `yaml:"all"`
	// Weak words count only beside their subject.
	Weak bool `yaml:"weak"`
	// Answer words count only as the answer to a question about their subject.
	Answer bool `yaml:"answer"`
}

// FactWords are the patterns that state a fact. Number patterns hold one <n>;
// Pair patterns two, the second being the fact named With.
type FactWords struct {
	Number []string `yaml:"number"`
	Pair   []string `yaml:"pair"`
	With   string   `yaml:"with"`
	// Sizes are the figures the thing is made in. The patterns of Sized and
	// SizedPair state the fact only when their figure is one of them: "45/5".
	Sizes     []float64 `yaml:"sizes"`
	Sized     []string  `yaml:"sized"`
	SizedPair []string  `yaml:"sized-pair"`
	// Beside are patterns whose last figure states the fact unless the part read
	// before it is another than Part: "14.3 amps, rated 15.8".
	Beside []string `yaml:"beside"`
	Part   string   `yaml:"part"`
	// Named are patterns that state the fact where one of its parts was named last before.
	Named  NamedWords          `yaml:"named"`
	Values map[string][]string `yaml:"values"`
	// Answers are words that state a value only when the fact was asked.
	Answers map[string][]string `yaml:"answers"`
}

// NamedWords state a fact of the part named before them: "hp switch, manual reset".
type NamedWords struct {
	Parts  []string            `yaml:"parts"`
	Number []string            `yaml:"number"`
	Values map[string][]string `yaml:"values"`
}

func (x *Lexicon) add(id string, node ast.Node) error {
	part := new(LexiconPart)
	if err := yaml.NodeToValue(node, part, yaml.Strict()); err != nil {
		return err
	}
	if part.Language == "" {
		return fmt.Errorf("%s has no language; write `language: en` as its first line", id)
	}
	if x.Parts == nil {
		x.Parts = map[string]*LexiconPart{}
	}
	x.Parts[id] = part
	return nil
}

// Sorted gives the parts in the order of their ids, so that nothing depends on
// map order.
func (x *Lexicon) Sorted() []*LexiconPart {
	var parts []*LexiconPart
	for _, id := range slices.Sorted(maps.Keys(x.Parts)) {
		parts = append(parts, x.Parts[id])
	}
	return parts
}

// CheckLexicon finds every id the lexicon names that the rest of the knowledge
// does not have. Sections the knowledge leaves out altogether are not checked.
func (b *Base) CheckLexicon() Errors {
	var errs Errors
	for _, id := range slices.Sorted(maps.Keys(b.Lexicon.Parts)) {
		c := lexiconCheck{base: b, item: "lexicon/" + id}
		c.part(b.Lexicon.Parts[id])
		errs = append(errs, c.errs...)
	}
	return errs.sorted()
}

type lexiconCheck struct {
	base *Base
	item string
	errs Errors
}

func (c *lexiconCheck) fail(what, mend string, keys ...any) {
	c.errs = append(c.errs, c.base.at(c.item, what, mend, keys...))
}

func (c *lexiconCheck) part(p *LexiconPart) {
	for _, name := range slices.Sorted(maps.Keys(p.Components)) {
		c.component(name, p.Components[name])
		c.wordsAdded(name, p.Components[name])
	}
	for _, k := range slices.Sorted(maps.Keys(p.Pairs)) {
		c.readings(p.Pairs[k], "pairs", k)
	}
	for i, row := range p.Rows {
		c.readings(row, "rows", i)
	}
	for _, id := range slices.Sorted(maps.Keys(p.Fits)) {
		c.readings([]ReadingID{id}, "fits", string(id))
	}
	for _, q := range slices.Sorted(maps.Keys(p.Guesses)) {
		c.readings(p.Guesses[q], "guesses", q)
	}
	for _, name := range slices.Sorted(maps.Keys(p.States)) {
		of := p.States[name].Of
		for _, subject := range slices.Sorted(maps.Keys(of)) {
			c.observation(subject, of[subject], "states", name, "of", subject)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.Facts)) {
		c.fact(name, p.Facts[name])
	}
	c.commands(p)
	if q := c.base.Quantities["temperature"]; p.Scale != "" && q != nil && !slices.ContainsFunc(q.Units, func(u UnitWords) bool { return u.Name == p.Scale }) {
		c.fail(fmt.Sprintf("temperature has no unit called %q", p.Scale), "name one of its units, as °C", "scale")
	}
}

func (c *lexiconCheck) component(name string, w *ComponentWords) {
	if w == nil {
		c.fail(fmt.Sprintf("component %q has no fields", name), "give it words and readings, or remove it", "components", name)
		return
	}
	lists := []struct {
		key string
		ids []ReadingID
	}{{"at", w.At}, {"across", w.Across}, {"out", w.Out}, {"in", w.In}, {"ground", w.Ground}, {"indoors", w.Indoors}, {"both", w.Both}, {"also", w.Also}}
	for _, l := range lists {
		c.readings(l.ids, "components", name, l.key)
	}
	for _, k := range slices.Sorted(maps.Keys(w.Pairs)) {
		c.readings(w.Pairs[k], "components", name, "pairs", k)
	}
	if len(c.base.Observations) == 0 {
		return
	}
	for i, s := range w.Subjects {
		if c.base.Observations[s] == nil {
			c.fail(fmt.Sprintf("no observation is called %q", s), "name one of those under observations/", "components", name, "subjects", i)
		}
	}
}

// wordsAdded finds words added to a component no part describes.
func (c *lexiconCheck) wordsAdded(name string, w *ComponentWords) {
	if w == nil || !w.WordsOnly() {
		return
	}
	for _, p := range c.base.Lexicon.Parts {
		if other := p.Components[name]; other != nil && !other.WordsOnly() {
			return
		}
	}
	c.fail(fmt.Sprintf("component %q has words but no part says what it is", name), "name a component another part describes, or give it readings or subjects", "components", name)
}

func (c *lexiconCheck) readings(ids []ReadingID, keys ...any) {
	if len(c.base.Measurements) == 0 {
		return
	}
	for i, id := range ids {
		if c.base.Measurements[id] == nil {
			c.fail(fmt.Sprintf("no measurement is called %q", id), "name one of those under measurements/, or add it there", append(slices.Clone(keys), i)...)
		}
	}
}

func (c *lexiconCheck) observation(subject, state string, keys ...any) {
	if len(c.base.Observations) == 0 {
		return
	}
	o := c.base.Observations[subject]
	if o == nil {
		c.fail(fmt.Sprintf("no observation is called %q", subject), "name one of those under observations/", keys...)
		return
	}
	if _, ok := o.States[state]; !ok {
		c.fail(fmt.Sprintf("%s has no state %q", subject, state), fmt.Sprintf("write one of %v", slices.Sorted(maps.Keys(o.States))), keys...)
	}
}

func (c *lexiconCheck) fact(name string, w *FactWords) {
	if len(c.base.Facts) == 0 {
		return
	}
	f := c.base.Facts[name]
	if f == nil {
		c.fail(fmt.Sprintf("no fact is called %q", name), "name one of those under facts/", "facts", name)
		return
	}
	if w == nil || len(f.Values) == 0 {
		return
	}
	for _, v := range slices.Sorted(maps.Keys(w.Values)) {
		if !slices.Contains(f.Values, v) {
			c.fail(fmt.Sprintf("%s has no value %q", name, v), fmt.Sprintf("write one of %v", f.Values), "facts", name, "values", v)
		}
	}
}
