package understand

import (
	"maps"
	"slices"

	"proveout/dialog/tagger"
)

// sounds finds the words of the trade by how they sound, for words so misspelt
// that the speller has given up. It forgives far more than the speller does and
// is asked only about words that seem to name something.
type sounds struct {
	words *vocabulary
	plain *vocabulary // everyday words
	keys  *vocabulary
	means map[string][][]int32 // by sound: words, and pairs of words said as one
}

func newSounds(r *Reader) *sounds {
	s := &sounds{words: r.vocab, plain: newVocabulary(), keys: newVocabulary(), means: map[string][][]int32{}}
	add := func(words string, ids ...int32) {
		key := sound(words)
		s.means[key] = append(s.means[key], ids)
		if len(ids) == 1 {
			s.keys.lang = r.vocab.langs[ids[0]]
			s.keys.trade[s.keys.intern(key)] = true
		}
	}
	for id := range int32(len(r.vocab.words)) {
		if w := r.vocab.words[id]; r.vocab.trade[id] && len(w) >= 3 && asciiLetters(w) {
			add(w, id)
		}
	}
	for _, a := range slices.Sorted(maps.Keys(r.phrases.next)) {
		x := r.vocab.words[a]
		if len(x) < 3 || !r.vocab.trade[a] || !asciiLetters(x) {
			continue
		}
		for _, b := range slices.Sorted(maps.Keys(r.phrases.next[a].next)) {
			if y := r.vocab.words[b]; r.phrases.next[a].next[b].here != nil && len(y) >= 3 && r.vocab.trade[b] && asciiLetters(y) {
				add(x+y, a, b)
			}
		}
	}
	s.keys.index()
	for id, w := range r.vocab.words {
		if _, mended := r.sounds.next[int32(id)]; !mended && !r.vocab.trade[int32(id)] && len(w) >= 4 {
			s.plain.lang = r.vocab.langs[id]
			s.plain.trade[s.plain.intern(w)] = true
		}
	}
	s.plain.index()
	return s
}

func sound(w string) string { return string(tagger.AppendSound(nil, w)) }

// heard is the words of the trade a word sounds like, or nearly does, or looks
// like but for one letter, in the languages the message is in; nil when there is
// no one nearest.
func (s *sounds) heard(w string, in languages) []int32 {
	if len(w) < 3 || len(w) > longest || !asciiLetters(w) {
		return nil
	}
	if s.everyday(w, in) {
		return nil
	}
	key := sound(w)
	if ids := s.of(key, in); ids != nil && (len(w) > 3 || len(ids) == 1 && len(s.words.words[ids[0]]) > 3) {
		return ids
	}
	if id := s.keys.correct(key, in); id != unknown {
		return s.of(s.keys.words[id], in)
	}
	return s.oneOff(w, in)
}

// of is the first of the words with a sound that is in one of the languages.
func (s *sounds) of(key string, in languages) []int32 {
	for _, ids := range s.means[key] {
		if s.words.langs[ids[0]]&in != 0 {
			return ids
		}
	}
	return nil
}

// everyday tells a word that is an everyday word but for one letter: "witt" is
// "with" before it is "white".
func (s *sounds) everyday(w string, in languages) bool {
	found := false
	look := func(key string) {
		for _, id := range s.plain.deletes[key] {
			found = found || s.plain.langs[id]&in != 0 && distance(w, s.plain.words[id]) == 1
		}
	}
	look(w)
	eachDelete(w, look)
	return found
}

// oneOff is the one word of the trade a letter away, whichever letter it is: the
// speller insists on the first.
func (s *sounds) oneOff(w string, in languages) []int32 {
	if len(w) < 4 {
		return nil
	}
	best, several := unknown, false
	look := func(key string) {
		for _, id := range s.words.deletes[key] {
			if id != best && s.words.langs[id]&in != 0 && distance(w, s.words.words[id]) == 1 && len(s.words.words[id]) >= 4 {
				several = several || best != unknown && skeleton(s.words.words[id]) != skeleton(s.words.words[best])
				best = id
			}
		}
	}
	look(w)
	eachDelete(w, look)
	if several || best == unknown {
		return nil
	}
	return []int32{best}
}
