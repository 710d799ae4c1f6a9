package understand

import (
	"fmt"
	"slices"
	"sync"

	"proveout/dialog/tagger"
)

// second is what is asked where grammar and lexicon left a word unknown or a figure
// unplaced:
//   - an unknown word is heard as the word of the trade it sounds like, and the same
//     grammar reads the message again;
//   - a figure the tagger is sure is no reading is not asked about.
//
// Where every word is known and every figure placed nothing changes. The tagger was
// tried at more and added nothing there: see the decisions in DEVELOPERS.md.
type second struct {
	tagger *tagger.Model  // nil when only sounds are heard
	sounds func() *sounds // made when first asked for: most messages never do
}

// asideAt is how sure the tagger must be to drop a figure nobody placed from what
// is asked: on the development messages it then drops no reading.
const asideAt = 0.75

// readingAt is how sure the tagger must be that a figure is a reading to ask about
// it though it stands in talk of other things.
const readingAt = 0.9

func newSecond(r *Reader) (*second, error) {
	m, err := tagger.Embedded()
	if err != nil {
		return nil, fmt.Errorf("preparing the second reader: %w", err)
	}
	return newSecondBy(m, r), nil
}

func newSecondBy(m *tagger.Model, r *Reader) *second {
	return &second{m, sync.OnceValue(func() *sounds { return newSounds(r) })}
}

// With is the same reader with another tagger, or, with nil, without one.
func (r *Reader) With(m *tagger.Model) *Reader {
	other := *r
	other.second = newSecondBy(m, r)
	return &other
}

// Alone is the same reader by grammar and lexicon alone, which what the second
// reader adds is measured against.
func (r *Reader) Alone() *Reader {
	other := *r
	other.second = nil
	return &other
}

// opinion is what the tagger says of the words of a message.
type opinion struct {
	words   []tagger.Word
	results []tagger.Result
}

// Tagged gives the words of a message and what the tagger says of each; nothing
// where there is no tagger.
func (r *Reader) Tagged(text string) ([]tagger.Word, []tagger.Result) {
	ws := Words(text)
	if r.second == nil || r.second.tagger == nil {
		return ws, nil
	}
	return ws, r.second.tagger.Tag(ws, nil)
}

// of is what the tagger says of the word a token was made of.
func (o *opinion) of(t token) (tagger.Result, bool) {
	i, ok := slices.BinarySearchFunc(o.words, t.start, func(w tagger.Word, at int) int { return w.Start - at })
	if !ok {
		return tagger.Result{}, false
	}
	return o.results[i], true
}

// readAgain lets the second reader at a message the first has read.
func (r *Reader) readAgain(m *message) *message {
	if r.second == nil || !m.puzzles() {
		return m
	}
	if again, whole := r.heard(m); again != nil {
		if whole && again.adds(m) {
			m = again
		} else {
			m.likelier(again)
		}
	}
	if r.second.tagger != nil && len(m.out.Unclear)+len(m.passed) > 0 {
		var o opinion
		o.words, o.results = r.Tagged(m.text)
		m.setAside(&o)
		m.bringBack(&o)
	}
	return m
}

// puzzles tells whether a word is unknown or a figure is left to ask about.
func (m *message) puzzles() bool {
	for i := range m.toks {
		if m.toks[i].kind == wordToken && m.toks[i].id == unknown {
			return true
		}
	}
	return len(m.out.Unclear)+len(m.passed) > 0
}

// heard reads the message again with the unknown words heard as words of the trade,
// and tells whether that left no word unknown; nil when nothing changes.
func (r *Reader) heard(m *message) (again *message, whole bool) {
	var toks []token
	var changed []int
	whole = true
	for i, t := range m.toks {
		var ids []int32
		if t.kind == wordToken && t.id == unknown {
			ids = r.second.sounds().heard(t.text, m.in)
			whole = whole && ids != nil
		}
		if ids == nil {
			if toks != nil {
				toks = append(toks, t)
			}
			continue
		}
		if toks == nil {
			toks = append(make([]token, 0, len(m.toks)+2), m.toks[:i]...)
		}
		for _, id := range ids {
			t.id, t.text = id, r.vocab.words[id]
			changed = append(changed, len(toks))
			toks = append(toks, t)
		}
	}
	if toks == nil {
		return nil, false
	}
	again = &message{r: r, ctx: m.ctx, text: m.text, intents: map[string]bool{}, in: m.in, toks: toks, guessed: changed}
	again.out.Language = m.out.Language
	return again.parse(), whole
}

// adds tells whether a second reading says all the first does, leaves no more to
// ask, and takes no value from a word it only guessed.
func (m *message) adds(first *message) bool {
	for i := range m.found {
		v := &m.values[m.found[i].value]
		if v.kind != figure && slices.ContainsFunc(m.guessed, func(t int) bool { return v.first <= t && t < v.last }) {
			return false
		}
	}
	a, b := &m.out, &first.out
	return containsAll(a.Observations, b.Observations) && containsAll(a.Facts, b.Facts) && containsAll(a.Hazards, b.Hazards) &&
		containsAll(a.Lacks, b.Lacks) && containsAll(a.CannotReach, b.CannotReach) && len(a.Present) >= len(b.Present) &&
		containsAll(a.Intents, b.Intents) && len(a.Intents) == len(b.Intents) &&
		len(a.Readings) >= len(b.Readings) && len(a.Unclear) <= len(b.Unclear)
}

func containsAll[T comparable](list, all []T) bool {
	for _, x := range all {
		if !slices.Contains(list, x) {
			return false
		}
	}
	return true
}

// likelier puts the reading a message would give a figure if its misspelt words
// were what they sound like first among what the figure may be. Some words stayed
// unknown, so it is asked and not taken.
func (m *message) likelier(again *message) {
	next := 0
	for i := range m.out.Unclear {
		u := &m.out.Unclear[i]
		k := m.unclearValue(*u, next)
		if k < 0 {
			continue
		}
		next = k + 1
		at := m.toks[m.values[k].figureStart].start
		for _, f := range again.found {
			if v := &again.values[f.value]; f.gone || v.kind != figure || again.toks[v.figureStart].start != at {
				continue
			}
			options := []string{string(f.id)}
			for _, o := range u.Options {
				if o != options[0] && len(options) < 3 {
					options = append(options, o)
				}
			}
			u.Options = options
			m.remark("%q may be %s, by words that sound like it: it is asked", u.Text, f.id)
			break
		}
	}
}

// setAside drops figures that are no readings from what is asked.
func (m *message) setAside(o *opinion) {
	kept := m.out.Unclear[:0]
	next := 0
	for _, u := range m.out.Unclear {
		k := m.unclearValue(u, next)
		if k >= 0 {
			next = k + 1
			if v := &m.values[k]; v.units == nil && m.asideness(v, o) >= asideAt {
				m.remark("%q is no reading (%.2f): it is not asked about", u.Text, m.asideness(v, o))
				continue
			}
		}
		kept = append(kept, u)
	}
	m.out.Unclear = kept
}

// bringBack asks about figures that stand in talk of other things and yet look like
// readings.
func (m *message) bringBack(o *opinion) {
	for _, k := range m.passed {
		v := &m.values[k]
		res, ok := o.of(m.toks[v.figureStart])
		if !ok || res.Tag.Slot() != tagger.Value || res.Certain < readingAt {
			continue
		}
		if options := m.options(k); len(options) > 0 {
			m.remark("%q looks like a reading (%.2f) in talk of something else: it is asked about", m.figureText(v), res.Certain)
			m.out.Unclear = append(m.out.Unclear, Unclear{Text: m.figureText(v), Options: options})
		}
	}
}

// asideness is how sure the tagger is that a figure is no reading.
func (m *message) asideness(v *value, o *opinion) float32 {
	if v.kind != figure {
		return 0
	}
	res, _ := o.of(m.toks[v.figureStart])
	return res.Aside
}

// unclearValue finds the value an open question is about, from value k on, or -1.
func (m *message) unclearValue(u Unclear, k int) int {
	for ; k < len(m.values); k++ {
		if v := &m.values[k]; v.kind == figure && !m.placedAt(k) && m.figureText(v) == u.Text {
			return k
		}
	}
	return -1
}

// remark keeps what the second reader did, for an explanation.
func (m *message) remark(format string, args ...any) {
	m.notes = append(m.notes, fmt.Sprintf(format, args...))
}
