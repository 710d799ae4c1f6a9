package tagger

import "unicode/utf8"

// Kind is what sort of thing a word is.
type Kind uint8

// The kinds of words.
const (
	Letters Kind = iota
	Figure       // digits
	Mark         // one punctuation mark
	Break        // a line break
)

// Word is one word, figure or mark of a message.
type Word struct {
	Text       string // in lower case
	Start, End int    // bytes of the message
	Kind       Kind
	Glued      bool // no space before it
}

// featureVersion changes whenever a feature does: weights trained for other
// features are refused.
const featureVersion = 1

// FNV-1a, 32 bits.
const (
	fnvBasis uint32 = 2166136261
	fnvPrime uint32 = 16777619
)

func mix(h, x uint32) uint32 {
	for range 4 {
		h = (h ^ x&0xff) * fnvPrime
		x >>= 8
	}
	return h
}

func hash(h uint32, s string) uint32 {
	for i := range len(s) {
		h = (h ^ uint32(s[i])) * fnvPrime
	}
	return h
}

// seen is a word as the features see it.
type seen struct {
	word  uint32 // its letters, or the shape of a figure
	sound uint32 // how it is heard
	shape uint32
	kind  Kind
}

// see prepares a word. All figures of one shape look alike, but for how large
// they are: what a number is worth decides nothing here.
func see(w *Word, buf []byte) (seen, []byte) {
	s := seen{kind: w.Kind, shape: uint32(w.Kind) + 1}
	if w.Kind == Figure {
		digits, point := 0, uint32(0)
		for i := range len(w.Text) {
			switch {
			case w.Text[i] == '.':
				point = 1
			case point == 0 && w.Text[i] != ',':
				digits++
			}
		}
		s.shape = 16 + 2*uint32(min(digits, 7)) + point
		s.word = mix(fnvBasis, s.shape)
		s.sound = s.word
		return s, buf
	}
	s.word = hash(fnvBasis, w.Text)
	s.sound = s.word
	if w.Kind == Letters && len(w.Text) <= 2 {
		s.shape = 8
	}
	if w.Kind == Letters && len(w.Text) > 3 {
		buf = AppendSound(buf[:0], w.Text[:min(len(w.Text), longestWord)])
		s.sound = fnvBasis
		for _, c := range buf {
			s.sound = (s.sound ^ uint32(c)) * fnvPrime
		}
	}
	return s, buf
}

// The feature templates: each mixes its number in, so that templates share rows
// only by chance.
const (
	fBias uint32 = iota
	fWord        // five of them, by place
	_
	_
	_
	_
	fPair // four of them
	_
	_
	_
	fShape
	fShapes
	fGram
	fGramBefore
	fGramAfter
	fFigureBefore
	fFigureAfter
	fEdge
	fFigures
	fShaped
	fSkip // three of them
	_
	_
	fSound // three of them
	_
	_
	fSoundPair // two of them
	_
	fNear // two of them
	_
)

// reader lists the features of a message's words.
type reader struct {
	seen  []seen
	rows  []uint32
	buf   []byte
	mask  uint32
	total int // figures of the message
}

func (r *reader) start(words []Word, mask uint32) {
	r.seen, r.mask, r.total = r.seen[:0], mask, 0
	for i := range words {
		var s seen
		s, r.buf = see(&words[i], r.buf)
		r.seen = append(r.seen, s)
		if words[i].Kind == Figure {
			r.total++
		}
	}
}

func (r *reader) add(template, x uint32) {
	h := mix(fnvBasis^template*0x9e3779b1, x)
	h ^= h >> 15
	r.rows = append(r.rows, h&r.mask)
}

func (r *reader) add2(template, x, y uint32) { r.add(template, mix(x, y)) }

// at is the word at i; outside the message it is one of two edges.
func (r *reader) at(i int) seen {
	switch {
	case i < 0:
		return seen{word: 1, shape: 2}
	case i >= len(r.seen):
		return seen{word: 2, shape: 3}
	}
	return r.seen[i]
}

// features lists the weight rows of word i; the slice is good until the next call.
func (r *reader) features(words []Word, i int) []uint32 {
	r.rows = r.rows[:0]
	a, b, c, d, e := r.at(i-2), r.at(i-1), r.at(i), r.at(i+1), r.at(i+2)
	r.add(fBias, 0)
	for k, s := range [5]seen{a, b, c, d, e} {
		r.add(fWord+uint32(k), s.word)
	}
	r.add2(fPair, b.word, c.word)
	r.add2(fPair+1, c.word, d.word)
	r.add2(fPair+2, b.word, d.word)
	r.add2(fPair+3, a.word, b.word)
	r.add2(fSkip, d.word, e.word)
	r.add(fShape, c.shape)
	r.add(fShapes, a.shape|b.shape<<6|c.shape<<12|d.shape<<18|e.shape<<24)
	r.add(fShaped, b.shape|c.shape<<6|d.shape<<12)
	r.add2(fSkip+1, c.shape, b.word)
	r.add2(fSkip+2, c.shape, d.word)
	before, after := r.figureNear(i, -1), r.figureNear(i, 1)
	r.add2(fFigureBefore, before, c.shape)
	r.add2(fFigureAfter, after, c.shape)
	r.add(fFigures, before|after<<8|c.shape<<16)
	r.add2(fEdge, uint32(min(r.total, 3)), c.shape)
	r.add(fSound, b.sound)
	r.add(fSound+1, c.sound)
	r.add(fSound+2, d.sound)
	r.add2(fSoundPair, b.sound, c.sound)
	r.add2(fSoundPair+1, c.sound, d.sound)
	if c.kind == Figure {
		r.near(i, -1, fNear)
		r.near(i, 1, fNear+1)
	}
	r.grams(fGram, words, i)
	r.grams(fGramBefore, words, i-1)
	r.grams(fGramAfter, words, i+1)
	return r.rows
}

// figureNear is how far the next figure stands in one direction, up to 6.
func (r *reader) figureNear(i, step int) uint32 {
	for n := uint32(1); n < 6; n++ {
		i += step
		if i < 0 || i >= len(r.seen) || r.seen[i].kind == Break {
			return 7
		}
		if r.seen[i].kind == Figure {
			return n
		}
	}
	return 6
}

// near adds the words up to six places from a figure, wherever they stand: what
// a number counts is often said a way off.
func (r *reader) near(i, step int, template uint32) {
	for range 6 {
		i += step
		if i < 0 || i >= len(r.seen) || r.seen[i].kind == Break {
			return
		}
		if r.seen[i].kind == Letters {
			r.add(template, r.seen[i].sound)
		}
	}
}

// longestWord is how many letters of a word are looked at.
const longestWord = 24

// grams adds the runs of two to four letters of a word, with its ends marked; of
// a neighbour only those of three.
func (r *reader) grams(template uint32, words []Word, i int) {
	if i < 0 || i >= len(words) || words[i].Kind != Letters {
		return
	}
	s := words[i].Text
	var buf [longestWord + 2]byte
	buf[0] = '<'
	n := 1 + copy(buf[1:longestWord+1], s)
	if len(s) > longestWord {
		for n > 1 && !utf8.RuneStart(s[n-1]) {
			n--
		}
	}
	buf[n] = '>'
	n++
	low, high := 2, 4
	if template != fGram {
		low, high = 3, 3
	}
	for size := low; size <= high; size++ {
		for j := 0; j+size <= n; j++ {
			h := fnvBasis
			for _, c := range buf[j : j+size] {
				h = (h ^ uint32(c)) * fnvPrime
			}
			r.add(template, h)
		}
	}
}
