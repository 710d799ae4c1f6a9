package main

import (
	"maps"
	"slices"

	"proveout/knowledge"
)

// vocabulary is what training takes from the knowledge: phrases by slot, in order
// and without doubles. Which reading a phrase means is not part of it.
type vocabulary struct {
	points     []string // components a value can be at
	components []string // components something is seen of
	terminals  []string // points one lead is put on, two of them making a pair
	sides      []string // relations but "at": after, load side of …
	at         []string
	quantities []string
	units      []string
	states     []string
	negations  []string
	nothing    []string // words for a value of zero, infinite or none
	reads      []string
	about      []string
	fillers    []string
	strong     []string // corrections
	numbers    []string // number words
	facts      []string // patterns
	asides     []string // patterns
	intents    []string // patterns
}

// vocabularyOf gathers the vocabulary of a knowledge, in English: the shapes are
// English ones. Other languages are learned from labelled messages.
func vocabularyOf(base *knowledge.Base) *vocabulary {
	v := new(vocabulary)
	for _, p := range base.Lexicon.Sorted() {
		if p.Language != "en" {
			continue
		}
		v.addComponents(p)
		v.addWords(p)
		v.addPatterns(p)
	}
	for _, q := range base.Quantities {
		for _, u := range q.Units {
			v.units = append(v.units, u.Words...)
		}
	}
	for _, list := range v.lists() {
		slices.Sort(*list)
		*list = slices.Compact(*list)
	}
	return v
}

func (v *vocabulary) addComponents(p *knowledge.LexiconPart) {
	for _, c := range p.Components {
		if len(c.At)+len(c.Across)+len(c.Out)+len(c.In)+len(c.Ground)+len(c.Both)+len(c.Also) > 0 {
			v.points = append(v.points, c.Words...)
		}
		if c.Terminal != "" {
			v.terminals = append(v.terminals, c.Words...)
		}
		if len(c.Subjects) > 0 {
			v.components = append(v.components, c.Words...)
		}
	}
	for name, words := range p.Relations {
		if name == "at" {
			v.at = append(v.at, words...)
		} else {
			v.sides = append(v.sides, words...)
		}
	}
	for _, words := range p.Quantities {
		v.quantities = append(v.quantities, words...)
	}
	for _, s := range p.States {
		v.states = append(v.states, s.Words...)
	}
}

func (v *vocabulary) addWords(p *knowledge.LexiconPart) {
	v.negations = append(v.negations, p.Words["not"]...)
	for _, name := range []string{"nothing", "infinite", "continuity"} {
		v.nothing = append(v.nothing, p.Words[name]...)
	}
	for _, name := range []string{"correct", "correct-strong"} {
		v.strong = append(v.strong, p.Words[name]...)
	}
	v.reads = append(v.reads, p.Words["reads"]...)
	v.about = append(v.about, p.Words["about"]...)
	v.fillers = append(v.fillers, p.Words["filler"]...)
	v.numbers = slices.AppendSeq(v.numbers, maps.Keys(p.Numbers))
}

func (v *vocabulary) addPatterns(p *knowledge.LexiconPart) {
	for _, f := range p.Facts {
		v.facts = append(v.facts, slices.Concat(f.Number, f.Pair)...)
		for _, words := range f.Values {
			v.facts = append(v.facts, words...)
		}
	}
	v.asides = append(v.asides, p.Aside...)
	for _, words := range p.Intents {
		v.intents = append(v.intents, words...)
	}
}

func (v *vocabulary) lists() []*[]string {
	return []*[]string{
		&v.points, &v.components, &v.terminals, &v.sides, &v.at, &v.quantities, &v.units, &v.states, &v.negations, &v.nothing,
		&v.reads, &v.about, &v.fillers, &v.strong, &v.numbers, &v.facts, &v.asides, &v.intents,
	}
}
