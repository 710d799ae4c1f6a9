package knowledge

import (
	"fmt"
	"reflect"
	"strings"
)

// tongues checks that every language says all of it, and nothing that is not there.
// What a shop adds or says in its own words it need not say twice.
func (c *checker) tongues() {
	for _, language := range append([]string{c.b.Language}, c.b.Languages()...) {
		for _, name := range c.b.commanded(language) {
			spot{c: c, item: "lexicon/" + c.b.Language + "/commands"}.fail(fmt.Sprintf("give %s: words in lexicon/%s/commands.yaml", name, language), "nobody can ask for %s in %q", name, language)
		}
	}
	for _, language := range c.b.Languages() {
		c.spokenPhrases(language)
		saidIn(c, language, "faults", c.b.Faults)
		saidIn(c, language, "measurements", c.b.Measurements)
		saidIn(c, language, "observations", c.b.Observations)
		saidIn(c, language, "facts", c.b.Facts)
		saidIn(c, language, "checks", c.b.Checks)
		saidIn(c, language, "circuits", c.b.Circuits)
		saidIn(c, language, "equipment", c.b.Equipment)
		saidIn(c, language, "cautions", c.b.Cautions)
	}
}

func (c *checker) spokenPhrases(language string) {
	said := c.b.tongues[language].phrases
	for _, id := range keysOf(c.b.spoken) {
		if said[id] == "" && !c.lost["phrases/"+id] && !c.lost["phrases/"+language] {
			spot{c: c, item: "phrases/" + id}.fail(fmt.Sprintf("say it under %s: in phrases/%s.yaml", id, language), "it is not said in %q", language)
		}
	}
	for _, id := range keysOf(said) {
		s := spot{c: c, item: "phrases/" + language + "/" + id}
		english, ok := c.b.Phrases[id]
		if !ok {
			s.fail(suggest(id, keysOf(c.b.Phrases), "give it the name of a phrase there is"), "nothing is said by the name %q", id)
			continue
		}
		if c.b.current("phrases/"+id, s.item) {
			s.slots(said[id], english)
		}
	}
}

// saidIn checks the words of a section's items in a language.
func saidIn[K ~string, T any, P worded[T]](c *checker, language, section string, items map[K]*T) {
	words := c.b.tongues[language].items[section]
	if c.lost[section] || c.lost["phrases/"+language+"/"+section] {
		return
	}
	for _, id := range keysOf(words) {
		item, s := items[K(id)], spot{c: c, item: inTongue(language, section, id)}
		switch {
		case c.lost[section+"/"+id] || c.lost[s.item]:
		case !c.b.current(section+"/"+id, s.item): // a shop says it in its own words
		case item == nil:
			s.fail(suggest(id, keysOf(items), "name one of those under "+section+"/"), "no %s is called %q", singular(section), id)
		default:
			n := *item
			s.wordings(section, words[id], P(&n).wordings(words[id]))
		}
	}
	for _, id := range keysOf(items) {
		full := section + "/" + id
		if o, written := c.b.where[full]; written && o.layer == 0 && words[id] == nil && !c.lost[full] {
			spot{c: c, item: full}.fail(fmt.Sprintf("say it under %s: in phrases/%s/%s.yaml", id, language, section), "it is not said in %q", language)
		}
	}
}

// wordings holds the words of one item to its own.
func (s spot) wordings(section string, w *Words, all []wording) {
	had := 0
	for _, x := range all {
		if x.in != "" {
			had++
		}
		switch {
		case x.in == "" && (x.own != "" || x.must):
			s.fail("say it in this language too", "it has no %s", where(x.keys))
		case x.in != "" && x.own == "" && !x.must && !x.may:
			s.in(x.keys...).fail("leave it out, or write it in the "+singular(section)+" first", "the %s itself has no %s", singular(section), where(x.keys))
		}
	}
	if had < w.count() {
		s.fail("leave out the fields it does not have", "the words hold more than a %s says", singular(section))
	}
}

func where(keys []any) string {
	parts := make([]string, len(keys))
	for i, k := range keys {
		parts[i] = fmt.Sprint(k)
	}
	return strings.Join(parts, " ")
}

// count is how many texts there are.
func (w *Words) count() int {
	n := 0
	for _, f := range reflect.ValueOf(*w).Fields() {
		if f.Kind() == reflect.Map {
			n += f.Len()
		} else {
			n += min(1, f.Len())
		}
	}
	return n
}
