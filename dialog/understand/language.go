package understand

import (
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
)

// languages is a set of languages: bit 0 is English, the others in the order of
// their names.
type languages uint32

const english languages = 1

// bit gives a language its place in the set.
func (r *Reader) bit(name string) languages {
	if name == "en" {
		return english
	}
	for i, n := range r.languages {
		if n == name {
			return 2 << i
		}
	}
	r.languages = append(r.languages, name)
	return 2 << (len(r.languages) - 1)
}

// enter prepares the vocabulary for a part: its language, and the gloss its own
// phrases are read through.
func (r *Reader) enter(p *knowledge.LexiconPart) {
	r.vocab.lang = r.bit(p.Language)
	r.vocab.gloss = r.words[p.Language]
}

// leave makes what follows common to all languages.
func (r *Reader) leave() {
	r.vocab.lang, r.vocab.gloss = ^languages(0), nil
}

// compileGloss enters a language's small words.
func (r *Reader) compileGloss(p *knowledge.LexiconPart) {
	if len(p.Gloss) == 0 {
		return
	}
	g := r.glosses[p.Language]
	if g == nil {
		g = &gloss{}
		r.glosses[p.Language], r.words[p.Language] = g, map[string][]string{}
	}
	for _, phrase := range slices.Sorted(maps.Keys(p.Gloss)) {
		r.vocab.lang, r.vocab.gloss = ^languages(0), nil
		var said []string
		for _, t := range tokenize(p.Gloss[phrase]) {
			r.vocab.intern(t.text)
			said = append(said, t.text)
		}
		r.vocab.lang = r.bit(p.Language)
		r.phrase(&g.trie, phrase, meaning{kind: isSound, index: len(g.said)}, false)
		g.said = append(g.said, said)
		for w := range strings.SplitSeq(phrase, "|") {
			if toks := tokenize(w); len(toks) == 1 && !strings.Contains(phrase, " ") {
				r.words[p.Language][toks[0].text] = said
			}
		}
	}
}

// gloss are the small words of a language.
type gloss struct {
	trie trie
	said [][]string
}

// speaks tells which languages a message is in, beside English whose trade words
// every message may hold, and the one most of its words are in.
func (r *Reader) speaks(toks []token) (in languages, most string) {
	in, most = english, "en"
	if len(r.languages) == 0 {
		return in, most
	}
	var count [33]int
	for i := range toks {
		id := r.vocab.id(toks[i].text)
		if id == unknown || toks[i].kind != wordToken {
			continue
		}
		switch l := r.vocab.langs[id]; {
		case l == english:
			count[0]++
		case l&english == 0:
			for k := range r.languages {
				if l&(2<<k) != 0 {
					count[k+1]++
				}
			}
		}
	}
	for k, name := range r.languages {
		if n := count[k+1]; n > 0 && 2*n >= count[0] {
			in |= 2 << k
			if n > count[0] {
				most = name
			}
		}
	}
	return in, most
}

// glossed reads the small words of the languages a message is in.
func (r *Reader) glossed(text string, toks []token, in languages) []token {
	for k, name := range r.languages {
		if g := r.glosses[name]; in&(2<<k) != 0 && g != nil {
			toks = g.read(text, r.decimalCommas(toks), r.vocab)
		}
	}
	return toks
}

// read puts English small words in the place of the language's.
func (g *gloss) read(text string, toks []token, v *vocabulary) []token {
	shouted := strings.ToUpper(text) == text
	out := make([]token, 0, len(toks)+8)
	for i := 0; i < len(toks); {
		found, end := g.trie.longest(toks, i, ^languages(0))
		if end == i || end == i+1 && stands(text, toks, i, shouted) {
			out = append(out, toks[i])
			i++
			continue
		}
		for _, w := range g.said[found[0].index] {
			x := toks[i]
			x.end, x.text, x.id = toks[end-1].end, w, v.id(w)
			out = append(out, x)
		}
		i = end
	}
	return out
}

// stands tells a word that is none of the small ones here: a letter that names a
// terminal, and the "no" that answers rather than denying the word after it.
func stands(text string, toks []token, i int, shouted bool) bool {
	t := &toks[i]
	switch {
	case len(t.text) == 1:
		return !shouted && text[t.start] >= 'A' && text[t.start] <= 'Z' || t.text == "y" && namesTerminal(toks, i)
	case t.text == "no":
		if i+1 < len(toks) && toks[i+1].kind == numberToken {
			// "310 no 410" and "26 en la bobina no 16" deny the second
			return !slices.ContainsFunc(toks[:i], func(t token) bool { return t.kind == numberToken })
		}
		return i+1 >= len(toks) || toks[i+1].kind != wordToken
	}
	return false
}

// namesTerminal tells that the word before a letter makes it a terminal, "en la y", or
// what it is measured to: "y a tierra".
func namesTerminal(toks []token, i int) bool {
	if i+2 < len(toks) && toks[i+1].text == "a" {
		switch toks[i+2].text {
		case "c", "g", "r", "tierra", "comun", "chasis":
			return true
		}
	}
	if i == 0 {
		return false
	}
	switch toks[i-1].text {
	case "la", "el", "en", "de", "terminal", "cable", "alambre", "hilo", "entre":
		return true
	}
	return false
}

// decimalCommas joins "24,5": one or two digits after a comma are decimals where
// the language writes them so.
func (r *Reader) decimalCommas(toks []token) []token {
	out := toks[:0:0]
	for i := 0; i < len(toks); i++ {
		t := toks[i]
		if t.kind == numberToken && i+2 < len(toks) && toks[i+1].text == "," && toks[i+1].glued && toks[i+2].kind == numberToken && toks[i+2].glued &&
			len(toks[i+2].text) <= 2 && !strings.ContainsAny(t.text+toks[i+2].text, ".,") {
			t.text, t.end = t.text+"."+toks[i+2].text, toks[i+2].end
			t.id = unknown
			i += 2
		}
		out = append(out, t)
	}
	return out
}

// otherWords enters the words a part adds to components and states that another
// part, mostly of another language, describes.
func (r *Reader) otherWords(p *knowledge.LexiconPart) {
	for _, name := range slices.Sorted(maps.Keys(p.Components)) {
		w, c := p.Components[name], r.components[name]
		if !w.WordsOnly() || c == nil {
			continue
		}
		for _, phrase := range w.Words {
			r.phrase(&r.phrases, phrase, meaning{kind: isComponent, comp: c}, true)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(p.States)) {
		w, s := p.States[name], r.states[name]
		if len(w.Of) > 0 || s == nil {
			continue
		}
		kind := isState
		if s.Answer {
			kind = isAnswer
		}
		for _, phrase := range w.Words {
			r.phrase(&r.phrases, phrase, meaning{kind: kind, state: s}, true)
		}
	}
}

// foreignFrom and foreignShare are from how many unknown words, and from which share
// of its words, a message is in a language the lexicon has not. Of 1,100 labelled
// messages that tell something none had three unknown words or more than a third; a
// sentence in another language of Latin letters has some words alike, and 0.38 to 1.
const (
	foreignFrom  = 3
	foreignShare = 0.36
)

// doubtForeign turns the readings of a message in a language nobody here has into
// questions and takes nothing seen from it: a word that looks alike need not mean the
// same.
func (m *message) doubtForeign() {
	words, unread := 0, 0
	for i := range m.toks {
		if t := &m.toks[i]; t.kind == wordToken && len(t.text) > 1 {
			if words++; t.id == unknown {
				unread++
			}
		}
	}
	if unread < foreignFrom || float64(unread) < foreignShare*float64(words) {
		return
	}
	u := &m.out
	u.Foreign = true
	for i := range u.Readings {
		r := &u.Readings[i]
		u.Unclear = append(u.Unclear, Unclear{Text: r.Text, Options: []string{string(r.Reading)}})
	}
	u.Readings, u.Observations, u.Facts, u.Present = []Reading{}, []Observation{}, []Fact{}, nil
}
