package understand

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// vocabulary numbers every word of the lexicon and finds the word meant by a
// misspelt one.
type vocabulary struct {
	ids   map[string]int32
	words []string
	// trade marks the words a misspelling may stand for.
	trade map[int32]bool
	// deletes maps a word less one or two letters to the words it came from.
	deletes map[string][]int32
	// skeletons maps a word without vowels to the words it came from.
	skeletons map[string][]int32
	// lang are the languages being entered, langs those a word was entered for.
	lang  languages
	langs []languages
	// gloss replaces the small words of the language being entered.
	gloss map[string][]string
}

func newVocabulary() *vocabulary {
	return &vocabulary{ids: map[string]int32{}, trade: map[int32]bool{}, deletes: map[string][]int32{}, skeletons: map[string][]int32{}}
}

func (v *vocabulary) intern(w string) int32 {
	id, ok := v.ids[w]
	if !ok {
		id = int32(len(v.words))
		v.ids[w] = id
		v.words, v.langs = append(v.words, w), append(v.langs, 0)
	}
	v.langs[id] |= v.lang
	return id
}

func (v *vocabulary) id(w string) int32 {
	if id, ok := v.ids[w]; ok {
		return id
	}
	return unknown
}

const (
	shortest   = 5  // letters a word needs before one wrong letter is forgiven
	twoWrong   = 9  // letters before two are
	longest    = 20 // letters beyond which nothing is a word
	spellLimit = 400
)

// index prepares the correction of misspelt trade words.
func (v *vocabulary) index() {
	for id := range int32(len(v.words)) {
		w := v.words[id]
		if !v.trade[id] || len(w) < shortest-1 || strings.ContainsAny(w, "0123456789'") {
			continue
		}
		v.deletes[w] = append(v.deletes[w], id)
		if len(w) >= shortest-1 {
			eachDelete(w, func(d string) {
				v.deletes[d] = append(v.deletes[d], id)
				if len(w) >= twoWrong {
					eachDelete(d, func(dd string) { v.deletes[dd] = append(v.deletes[dd], id) })
				}
			})
		}
		if sk := skeleton(w); len(sk) >= 3 {
			v.skeletons[sk] = append(v.skeletons[sk], id)
		}
	}
	for k, ids := range v.deletes {
		slices.Sort(ids)
		v.deletes[k] = slices.Compact(ids)
	}
}

func eachDelete(w string, f func(string)) {
	for i := range len(w) {
		f(w[:i] + w[i+1:])
	}
}

// skeleton is a word's first letter and later consonants, doubled ones once.
func skeleton(w string) string {
	b := make([]byte, 0, len(w))
	for i := range len(w) {
		c := w[i]
		if i > 0 && strings.IndexByte("aeiouy", c) >= 0 {
			continue
		}
		if n := len(b); n > 0 && b[n-1] == c {
			continue
		}
		b = append(b, c)
	}
	return string(b)
}

// correct finds the trade word meant by an unknown word, or unknown. The first
// letter must be right, and the choice must be the only nearest one.
func (v *vocabulary) correct(w string, in languages) int32 {
	if len(w) < 4 || len(w) > longest || !asciiLetters(w) {
		return unknown
	}
	best, bestCost, tie := unknown, 3, false // ties between spellings of one word are none
	consider := func(id int32, cost int) {
		if id == best || cost > bestCost || v.langs[id]&in == 0 || in != english && (cost > 1 || len(w) <= shortest) || !v.allowed(w, v.words[id], cost) {
			return
		}
		if cost == bestCost && best != unknown {
			// Of two words as near, the one with the same consonants is meant.
			mine, theirs, sk := skeleton(v.words[id]), skeleton(v.words[best]), skeleton(w)
			switch {
			case mine == theirs:
				best = min(best, id)
			case theirs == sk:
			case mine == sk:
				best, tie = id, false
			default:
				tie = true
			}
			return
		}
		tie, best, bestCost = false, id, cost
	}
	look := func(key string) {
		for _, id := range v.deletes[key] {
			consider(id, distance(w, v.words[id]))
		}
	}
	look(w)
	eachDelete(w, look)
	if best == unknown && len(w) >= twoWrong-1 {
		eachDelete(w, func(d string) { eachDelete(d, look) })
	}
	if best == unknown && len(w) <= 8 && !strings.ContainsAny(w[1:], "aeiouy") {
		for _, id := range v.skeletons[skeleton(w)] {
			consider(id, 2)
		}
	}
	if tie {
		return unknown
	}
	return best
}

func (v *vocabulary) allowed(w, meant string, cost int) bool {
	if w[0] != meant[0] {
		// One wrong or missing letter in front of a long word.
		return len(w) >= shortest+2 && (w == meant[1:] || len(meant) > shortest+2 && w[1:] == meant[1:])
	}
	if !strings.ContainsAny(w[1:], "aeiouy") && skeleton(w) == skeleton(meant) {
		return true
	}
	if cost == 1 && len(w) == 4 && len(meant) == 4 {
		return sameLetters(w, meant)
	}
	if cost == 1 {
		return len(meant) >= shortest && len(w) >= 4
	}
	return cost == 2 && len(meant) >= twoWrong
}

// sameLetters tells two words of four letters that are one another swapped.
func sameLetters(a, b string) bool {
	x, y := []byte(a), []byte(b)
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

func asciiLetters(w string) bool {
	for i := range len(w) {
		if c := w[i]; c >= utf8.RuneSelf || c < 'a' || c > 'z' {
			return false
		}
	}
	return true
}

// distance counts wrong, missing, extra and swapped letters, up to 3.
func distance(a, b string) int {
	if d := len(a) - len(b); d > 2 || d < -2 {
		return 3
	}
	var rows [3][longest + 4]int
	prev2, prev, cur := &rows[0], &rows[1], &rows[2]
	if len(b) > longest+2 {
		return 3
	}
	for j := range len(b) + 1 {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				cur[j] = min(cur[j], prev2[j-2]+1)
			}
		}
		prev2, prev, cur = prev, cur, prev2
	}
	return min(prev[len(b)], 3)
}

// spell gives every token its word: as written, without a possessive or plural
// s, split where two words were run together, or corrected.
func (r *Reader) spell(toks []token, in languages) []token {
	out := make([]token, 0, len(toks)+4)
	budget := spellLimit
	for _, t := range toks {
		t.id = r.vocab.id(t.text)
		if w, ok := strings.CutSuffix(t.text, "'s"); ok {
			if id := r.vocab.id(w); id != unknown && r.vocab.trade[id] && r.small.next[t.id] == nil {
				t.id = id // "cap's", while "it's" is a small word of its own
			}
		}
		if w, ok := strings.CutSuffix(t.text, "s"); ok && t.id != unknown && len(w) > 3 {
			if id := r.vocab.id(w); id > 0 && r.vocab.trade[id] {
				t.single = id // "vapor lines warm" is of the line
			}
		}
		if t.id == unknown && t.kind == wordToken {
			out = r.respell(out, t, &budget, in)
			continue
		}
		out = append(out, t)
	}
	return replaced(out, &r.sounds, r.said, r.vocab)
}

func (r *Reader) respell(out []token, t token, budget *int, in languages) []token {
	if w, ok := strings.CutSuffix(t.text, "'s"); ok {
		if t.id = r.vocab.id(w); t.id != unknown {
			return append(out, t)
		}
	}
	if a, b, ok := r.letterFigure(t); ok {
		return append(out, a, b)
	}
	if *budget <= 0 {
		return append(out, t)
	}
	*budget--
	if a, b, ok := r.runTogether(t); ok {
		return append(out, a, b)
	}
	if w, ok := strings.CutSuffix(t.text, "s"); ok && len(w) > 3 {
		if id := r.vocab.id(w); id != unknown && r.vocab.trade[id] {
			t.id = id
			return append(out, t)
		}
	}
	if prev := len(out) - 1; prev >= 0 && out[prev].kind == wordToken && !t.glued {
		if id := r.vocab.id(out[prev].text + t.text); id != unknown && r.vocab.trade[id] {
			out[prev].end, out[prev].id, out[prev].text = t.end, id, r.vocab.words[id]
			return out
		}
	}
	t.id = r.vocab.correct(t.text, in)
	return append(out, t)
}

// letterFigure splits "y27" into the terminal and the figure.
func (r *Reader) letterFigure(t token) (a, b token, ok bool) {
	i := strings.IndexFunc(t.text, isDigit)
	if i < 1 || strings.IndexFunc(t.text[i:], func(c rune) bool { return !isDigit(c) }) >= 0 || t.end-t.start != len(t.text) {
		return a, b, false
	}
	id := r.vocab.id(t.text[:i])
	if id == unknown || !r.vocab.trade[id] || len(t.text)-i > 3 || len(t.text)-i < 2 && (i == 1 || !r.namesPart(id)) {
		return a, b, false
	}
	a, b = t, t
	a.end, a.text, a.id = t.start+i, t.text[:i], id
	b.start, b.text, b.kind, b.glued = t.start+i, t.text[i:], numberToken, true
	b.id = r.vocab.id(b.text)
	return a, b, true
}

// namesPart tells a word that names a part or a quantity by itself.
func (r *Reader) namesPart(id int32) bool {
	n := r.phrases.next[id]
	return n != nil && slices.ContainsFunc(n.here, func(x meaning) bool { return x.kind == isComponent || x.kind == isQuantity })
}

// runTogether splits "lowpressure" into two words of the trade.
func (r *Reader) runTogether(t token) (a, b token, ok bool) {
	if t.end-t.start != len(t.text) || len(t.text) > 2*longest {
		return a, b, false
	}
	for i := 3; i <= len(t.text)-3; i++ {
		x, y := r.vocab.id(t.text[:i]), r.vocab.id(t.text[i:])
		if x == unknown || y == unknown || !r.vocab.trade[x] || !r.vocab.trade[y] {
			continue
		}
		a, b = t, t
		a.end, a.text, a.id = t.start+i, t.text[:i], x
		b.start, b.text, b.id = t.start+i, t.text[i:], y
		return a, b, true
	}
	return a, b, false
}

// replaced puts other words in the place of the phrases of a trie: what voice
// typing heard by what was said.
func replaced(toks []token, t *trie, said [][]string, v *vocabulary) []token {
	out := toks[:0:0]
	for i := 0; i < len(toks); {
		found, end := t.longest(toks, i, ^languages(0))
		if end == i {
			if out != nil {
				out = append(out, toks[i])
			}
			i++
			continue
		}
		if out == nil {
			out = append(make([]token, 0, len(toks)+8), toks[:i]...)
		}
		for _, w := range said[found[0].index] {
			x := toks[i]
			x.end, x.text, x.id = toks[end-1].end, w, v.id(w)
			out = append(out, x)
		}
		i = end
	}
	if out == nil {
		return toks
	}
	return out
}
