package understand

import (
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
)

// compilePatterns enters a part's patterns, answers and asides.
func (r *Reader) compilePatterns(p *knowledge.LexiconPart) {
	groups := func(kind patternKind, byID map[string][]string) {
		for _, id := range slices.Sorted(maps.Keys(byID)) {
			for _, w := range byID[id] {
				r.pattern(w, pattern{what: kind, id: id})
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(p.Bare)) {
		for _, w := range p.Bare[id] {
			r.pattern(w, pattern{what: intentPattern, id: id, bare: true})
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.Seen)) {
		for _, w := range p.Seen[name] {
			if s := r.states[name]; s != nil {
				r.pattern(w, pattern{what: seenPattern, id: name, state: s})
			}
		}
	}
	groups(intentPattern, p.Intents)
	groups(hazardPattern, p.Hazards)
	groups(machinePattern, p.Machine)
	for _, w := range p.Aside {
		r.pattern(w, pattern{what: asidePattern})
	}
	for _, w := range p.Hearsay {
		r.pattern(w, pattern{what: hearsayPattern})
	}
	for _, fact := range slices.Sorted(maps.Keys(p.Facts)) {
		f := p.Facts[fact]
		r.factNumber[fact] = r.factNumber[fact] || len(f.Number)+len(f.Pair) > 0
		if f.Sizes != nil {
			r.sizes[fact] = f.Sizes
		}
		for _, w := range f.Sized {
			r.pattern(w, pattern{what: factPattern, id: fact, sized: true})
		}
		for _, w := range f.Beside {
			r.pattern(w, pattern{what: factPattern, id: fact, part: f.Part})
		}
		for _, w := range f.Named.Number {
			r.pattern(w, pattern{what: factPattern, id: fact, of: f.Named.Parts})
		}
		for _, v := range slices.Sorted(maps.Keys(f.Named.Values)) {
			for _, w := range f.Named.Values[v] {
				r.pattern(w, pattern{what: factPattern, id: fact, value: v, of: f.Named.Parts})
			}
		}
		for _, w := range f.SizedPair {
			r.pattern(w, pattern{what: factPattern, id: fact, with: f.With, sized: true})
		}
		for _, w := range f.Number {
			r.pattern(w, pattern{what: factPattern, id: fact})
		}
		if f.With != "" {
			r.factWith[fact] = f.With
		}
		for _, w := range f.Pair {
			w = strings.ReplaceAll(w, "<n> / <n>", "<n> "+ratingJoin+" <n>")
			r.pattern(w, pattern{what: factPattern, id: fact, with: f.With})
		}
		for _, v := range slices.Sorted(maps.Keys(f.Values)) {
			for _, w := range f.Values[v] {
				r.pattern(w, pattern{what: factPattern, id: fact, value: v})
			}
		}
		for _, v := range slices.Sorted(maps.Keys(f.Answers)) {
			for _, w := range f.Answers[v] {
				r.answers[fact] = append(r.answers[fact], answer{elems: r.vocab.parsePhrase(w), value: v})
			}
		}
	}
}

func (r *Reader) pattern(words string, p pattern) {
	p.elems, p.in = r.vocab.parsePhrase(words), r.vocab.lang
	for _, e := range p.elems {
		for _, alt := range e.words {
			// Long words of patterns may be misspelt too; short ones are too near
			// to others.
			if len(alt) == 1 && len(r.vocab.words[alt[0]]) >= 7 {
				r.vocab.trade[alt[0]] = true
			}
		}
	}
	if len(p.elems) > 0 {
		r.patterns.add(&p)
	}
}
