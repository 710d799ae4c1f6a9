package main

import (
	"math/rand/v2"
	"strings"

	"proveout/dialog/tagger"
)

// madeUp is a word nobody lists.
func madeUp(r *rand.Rand) string {
	starts := listed("b bl br c ch cl cr d dr f fl fr g gl gr h j k kl l m n p pl pr qu r s sc sh sk sl sn sp st str t th tr tw v w wh y z")
	middles := listed("a e i o u ai ea ee oo ou oi ie")
	ends := listed("b ck d ff g k ll m n ng nk p r rt s ss st t x z y er le et in on op um ish")
	var b strings.Builder
	for range 1 + r.IntN(3) {
		b.WriteString(starts[r.IntN(len(starts))] + middles[r.IntN(len(middles))])
	}
	if r.IntN(5) > 0 {
		b.WriteString(ends[r.IntN(len(ends))])
	}
	return b.String()
}

// sounds are letters written one for another by ear.
var sounds = [][2]string{
	{"c", "k"},
	{"k", "c"},
	{"ck", "k"},
	{"ph", "f"},
	{"tion", "shun"},
	{"s", "c"},
	{"s", "z"},
	{"ss", "s"},
	{"tt", "t"},
	{"ll", "l"},
	{"l", "ll"},
	{"t", "tt"},
	{"ea", "ee"},
	{"ee", "ea"},
	{"e", "a"},
	{"a", "e"},
	{"i", "e"},
	{"o", "a"},
	{"u", "o"},
	{"oi", "oy"},
	{"or", "er"},
	{"er", "or"},
	{"er", "ur"},
	{"re", "er"},
	{"ou", "ow"},
	{"i", "y"},
	{"y", "i"},
	{"qu", "kw"},
	{"x", "ks"},
	{"w", "wh"},
	{"ch", "tch"},
	{"tch", "ch"},
	{"sure", "sher"},
	{"ture", "cher"},
	{"ain", "ane"},
	{"oa", "o"},
	{"ow", "o"},
	{"ui", "oo"},
}

// misspell writes a word the way fingers and ears do.
func misspell(r *rand.Rand, w string) string {
	if len(w) < 3 || strings.ContainsAny(w, "0123456789") {
		return w
	}
	for range 1 + r.IntN(3) {
		switch r.IntN(6) {
		case 0, 1:
			s := sounds[r.IntN(len(sounds))]
			w = strings.Replace(w, s[0], s[1], 1)
		case 2:
			i := r.IntN(len(w))
			w = w[:i] + w[i+1:]
		case 3:
			if i := r.IntN(len(w)); i+1 < len(w) {
				w = w[:i] + w[i+1:i+2] + w[i:i+1] + w[i+2:]
			}
		case 4:
			i := r.IntN(len(w))
			w = w[:i] + w[i:i+1] + w[i:]
		case 5:
			// the vowels left out
			if len(w) > 4 {
				w = w[:1] + strings.Map(func(c rune) rune {
					if strings.ContainsRune("aeiou", c) && r.IntN(3) > 0 {
						return -1
					}
					return c
				}, w[1:])
			}
		}
		if len(w) < 3 {
			break
		}
	}
	return w
}

// corruption says how often, in percent, words are changed.
type corruption struct {
	slotTypo, slotMadeUp int // of a run of a point, component, state, quantity or unit
	otherTypo, other     int // of a word in no slot
}

// corrupt changes words of a sentence and keeps its slots.
func corrupt(r *rand.Rand, s sentence, c corruption) sentence {
	var b strings.Builder
	at := 0
	put := func(from, to int, slot tagger.Slot, text string) {
		b.WriteString(s.text[at:from])
		if slot == tagger.Other {
			b.WriteString(text)
		} else {
			b.WriteString("[" + slotLetters[slot:slot+1] + " " + text + "]")
		}
		at = to
	}
	spans := tagger.Spans(s.tags)
	next := 0
	for i := 0; i < len(s.words); {
		if next < len(spans) && spans[next].First == i {
			sp := spans[next]
			from, to := s.words[i].Start, s.words[sp.Last-1].End
			put(from, to, sp.Slot, slotWords(r, s, sp, c))
			i, next = sp.Last, next+1
			continue
		}
		w := s.words[i]
		text := s.text[w.Start:w.End]
		if w.Kind == tagger.Letters && len(text) > 2 {
			switch n := r.IntN(100); {
			case n < c.otherTypo:
				text = misspell(r, text)
			case n < c.otherTypo+c.other:
				text = madeUp(r)
			}
		}
		put(w.Start, w.End, tagger.Other, text)
		i++
	}
	b.WriteString(s.text[at:])
	out, err := parseMarked(b.String())
	if err != nil {
		return s // a bracket of the message itself
	}
	return out
}

func slotWords(r *rand.Rand, s sentence, sp tagger.Span, c corruption) string {
	text := s.text[s.words[sp.First].Start:s.words[sp.Last-1].End]
	switch sp.Slot {
	case tagger.Point, tagger.Component, tagger.State, tagger.Quantity, tagger.Unit, tagger.Correction:
	default:
		return text
	}
	madeUpShare := c.slotMadeUp
	if sp.Slot == tagger.Unit || sp.Slot == tagger.Quantity || sp.Slot == tagger.Correction {
		madeUpShare /= 4
	}
	switch n := r.IntN(100); {
	case n < c.slotTypo:
		fields := strings.Fields(text)
		for i := range fields {
			if r.IntN(3) > 0 {
				fields[i] = misspell(r, fields[i])
			}
		}
		return strings.Join(fields, " ")
	case n < c.slotTypo+madeUpShare:
		fields := strings.Fields(text)
		i := r.IntN(len(fields))
		if r.IntN(2) == 0 || len(fields) > 3 {
			fields = fields[i : i+1]
			i = 0
		}
		fields[i] = madeUp(r)
		return strings.Join(fields, " ")
	}
	return text
}
