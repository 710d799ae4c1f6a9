package understand

import (
	"fmt"
	"slices"

	"proveout/dialog/tagger"
)

// second is the second reader. The grammar and the lexicon read first; the tagger
// is asked only where they left a word unknown or a figure unplaced, and then it
//   - points at misspelt words that name something: heard as the words of the trade
//     they sound like, they are read again by the same grammar;
//   - points at figures that are no readings, which then are not asked about.
//
// Where every word is known and every figure placed nothing changes.
type second struct {
	tagger *tagger.Model
	sounds *sounds
}

// How sure the tagger must be, by the development messages.
const (
	// chatterAt lets an unknown word be passed over.
	chatterAt = 0.8
	// asideAt drops a figure nobody placed from what is asked.
	asideAt = 0.7
	// doubtAt turns a reading into a question: the figure looks like none.
	doubtAt = 0.8
)

func newSecond(r *Reader) (*second, error) {
	m, err := tagger.Embedded()
	if err != nil {
		return nil, fmt.Errorf("preparing the second reader: %w", err)
	}
	return &second{m, newSounds(r)}, nil
}

// With is the same reader with another tagger, or, with nil, by grammar and
// lexicon alone: what the tagger adds is measured against that.
func (r *Reader) With(m *tagger.Model) *Reader {
	other := *r
	other.second = nil
	if m != nil {
		other.second = &second{m, newSounds(r)}
	}
	return &other
}

// opinion is what the tagger says of the words of a message.
type opinion struct {
	words   []tagger.Word
	results []tagger.Result
}

// Tagged gives the words of a message and what the tagger says of each.
func (r *Reader) Tagged(text string) ([]tagger.Word, []tagger.Result) {
	if r.second == nil {
		return Words(text), nil
	}
	ws := Words(text)
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
	var o opinion
	o.words, o.results = r.Tagged(m.text)
	if again, whole := r.heard(m, &o); again != nil {
		if whole && again.adds(m, &o) {
			m = again
		} else {
			m.likelier(again)
		}
	}
	m.setAside(&o)
	m.question(&o)
	return m
}

// puzzles tells whether a word is unknown or a figure is left to ask about.
func (m *message) puzzles() bool {
	for i := range m.toks {
		if m.toks[i].kind == wordToken && m.toks[i].id == unknown {
			return true
		}
	}
	return len(m.out.Unclear) > 0
}

// heard reads the message again with the unknown words that may name something
// heard as words of the trade, and tells whether that left no word unknown; nil
// when nothing changes.
func (r *Reader) heard(m *message, o *opinion) (again *message, whole bool) {
	var toks []token
	var changed []int
	whole = true
	for i, t := range m.toks {
		ids := []int32(nil)
		if t.kind == wordToken && t.id == unknown && !o.chatter(t) {
			ids = r.second.sounds.heard(t.text, m.in)
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
// ask, takes no value from a word it only guessed and no figure before a word that
// looks like a unit nobody knows.
func (m *message) adds(first *message, o *opinion) bool {
	for i := range m.found {
		v := &m.values[m.found[i].value]
		if v.kind != figure && slices.ContainsFunc(m.guessed, func(t int) bool { return v.first <= t && t < v.last }) {
			return false
		}
		if v.kind == figure && v.units == nil && v.figureEnd < len(m.toks) {
			if res, ok := o.of(m.toks[v.figureEnd]); ok && res.Tag.Slot() == tagger.Unit {
				return false
			}
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

// chatter tells a word the tagger is sure names nothing.
func (o *opinion) chatter(t token) bool {
	res, ok := o.of(t)
	return ok && res.Tag == tagger.Outside && res.Certain >= chatterAt
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

// question asks about readings whose figure the tagger takes for none: an address
// before a word that is also a place. What was asked for, or has its unit, stands.
func (m *message) question(o *opinion) {
	before := len(m.out.Readings) - len(m.found)
	if before < 0 {
		return
	}
	kept := slices.Clone(m.out.Readings[:before])
	for i := range m.found {
		f, rd := &m.found[i], m.out.Readings[before+i]
		v := &m.values[f.value]
		if rd.Reading != f.id || v.units != nil || f.id == m.ctx.Asked || m.asideness(v, o) < doubtAt {
			kept = append(kept, rd)
			continue
		}
		u := Unclear{Text: m.figureText(v), Options: []string{string(f.id)}}
		m.remark("%q looks like no reading (%.2f): it is asked and not taken", u.Text, m.asideness(v, o))
		if !slices.ContainsFunc(m.out.Unclear, func(x Unclear) bool { return x.Text == u.Text }) {
			m.out.Unclear = append(m.out.Unclear, u)
		}
	}
	m.out.Readings = kept
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
