package understand

import (
	"strings"
)

// class is a kind of element a pattern may hold besides plain words.
type class uint8

const (
	literal class = iota
	anyNumber
	anyPart
	anyTool
	sentenceStart
	sentenceEnd
	gap // up to five words of any kind
)

// element is one step of a phrase or pattern: one of several word sequences, or
// a class; it may be left out when optional.
type element struct {
	class    class
	words    [][]int32
	number   bool // a number will do too
	optional bool
	comma    bool // a comma ends it too
}

// parsePhrase reads the lexicon's phrase form: words, a|b, [optional], <n>,
// <part>, <tool> and "...".
func (v *vocabulary) parsePhrase(phrase string) []element {
	var out []element
	optional := false
	for field := range strings.FieldsSeq(phrase) {
		if strings.HasPrefix(field, "[") {
			optional, field = true, field[1:]
		}
		closes := strings.HasSuffix(field, "]")
		field = strings.TrimSuffix(field, "]")
		if field != "" {
			out = append(out, v.parseField(field, optional)...)
		}
		if closes {
			optional = false
		}
	}
	return out
}

func (v *vocabulary) parseField(field string, optional bool) []element {
	switch field {
	case "<n>":
		return []element{{class: anyNumber, optional: optional}}
	case "<part>":
		return []element{{class: anyPart, optional: optional}}
	case "<tool>":
		return []element{{class: anyTool, optional: optional}}
	case "<start>":
		return []element{{class: sentenceStart, optional: optional}}
	case "<end>":
		return []element{{class: sentenceEnd, optional: optional}}
	case "<stop>":
		return []element{{class: sentenceEnd, comma: true, optional: optional}}
	case "...":
		return []element{{class: gap, optional: optional}}
	}
	e := element{optional: optional}
	for alt := range strings.SplitSeq(field, "|") {
		if alt == "<n>" {
			e.number = true
			continue
		}
		var ids []int32
		for _, t := range tokenize(alt) {
			if words, ok := v.gloss[t.text]; ok {
				for _, w := range words {
					ids = append(ids, v.intern(w))
				}
				continue
			}
			ids = append(ids, v.intern(t.text))
		}
		if len(ids) > 0 {
			e.words = append(e.words, ids)
		}
	}
	if len(e.words) == 0 && !e.number {
		return nil
	}
	return []element{e}
}

// pattern is a sequence of elements and what it means when it matches.
type pattern struct {
	elems []element
	what  patternKind
	id    string    // intent, hazard, machine state or fact
	value string    // fact value; empty when numbers are captured
	with  string    // fact of the second number
	state *state    // what a seen pattern tells
	in    languages // the languages it is said in
	bare  bool      // an intent only where nothing asked is answered
	sized bool      // a fact only when its last figures are sizes it is made in
	part  string    // the part a rating is of, where the words do not name it
	of    []string  // components of which one must be named last before
}

type patternKind uint8

const (
	intentPattern patternKind = iota
	hazardPattern
	machinePattern
	factPattern
	asidePattern
	hearsayPattern
	seenPattern
)

// patterns finds patterns by their first word or class.
type patterns struct {
	byWord  map[int32][]*pattern
	byClass [gap + 1][]*pattern
}

func (ps *patterns) add(p *pattern) {
	if ps.byWord == nil {
		ps.byWord = map[int32][]*pattern{}
	}
	for _, e := range p.elems {
		if e.class != literal {
			ps.byClass[e.class] = append(ps.byClass[e.class], p)
		}
		for _, alt := range e.words {
			list := ps.byWord[alt[0]]
			if len(list) == 0 || list[len(list)-1] != p {
				ps.byWord[alt[0]] = append(list, p)
			}
		}
		if !e.optional && e.class != sentenceStart {
			return
		}
	}
}

// match is one pattern found at tokens [first, last).
type match struct {
	*pattern
	first, last int
	numbers     [2]int // places in the value list
	found       int    // how many numbers
	named       *component
	tool        string
}

// try matches a pattern's elements from token i, preferring the longest match.
func (m *message) try(p *pattern, i int) (match, bool) {
	best := match{pattern: p, first: i, last: -1}
	m.walk(p.elems, i, match{pattern: p, first: i}, &best)
	return best, best.last > i
}

func (m *message) walk(elems []element, i int, cur match, best *match) {
	if len(elems) == 0 {
		if i > best.last {
			cur.last = i
			*best = cur
		}
		return
	}
	e := elems[0]
	m.advance(e, elems[1:], i, cur, best)
	if e.optional {
		m.walk(elems[1:], i, cur, best)
	}
}

func (m *message) advance(e element, rest []element, i int, cur match, best *match) {
	if e.class == sentenceStart && (i == 0 || m.endsSentence(i-1) || m.tok(i-1).text == ",") {
		m.walk(rest, i, cur, best)
		return
	}
	if e.class == sentenceEnd && (i >= len(m.toks) || m.endsSentence(i) || e.comma && m.toks[i].text == ",") {
		m.walk(rest, i, cur, best)
		return
	}
	if i >= len(m.toks) && e.class != gap {
		return
	}
	switch e.class {
	default: // the ends of a sentence were walked above
	case literal:
		for _, alt := range e.words {
			if m.hasWords(alt, i) {
				m.walk(rest, i+len(alt), cur, best)
			}
		}
		if k := m.numberAt(i); e.number && k >= 0 {
			m.walk(rest, m.values[k].figureEnd, cur, best)
		}
	case anyNumber:
		if k := m.numberAt(i); k >= 0 {
			if cur.found < len(cur.numbers) {
				cur.numbers[cur.found] = k
				cur.found++
			}
			m.walk(rest, m.values[k].figureEnd, cur, best)
			if v := &m.values[k]; cur.what == factPattern && v.last > v.figureEnd {
				m.walk(rest, v.last, cur, best)
			}
		}
	case anyPart:
		if c := m.chunkAt(i); c != nil && c.comp() != nil {
			cur.named = c.comp()
			m.walk(rest, c.last, cur, best)
			for j, n := m.nextPart(c.last), 1; j > 0 && n < partsListed; n++ {
				m.walk(rest, m.chunkAt(j).last, cur, best)
				j = m.nextPart(m.chunkAt(j).last)
			}
		}
	case anyTool:
		if c := m.chunkAt(i); c != nil && c.tool() != "" {
			cur.tool = c.tool()
			m.walk(rest, c.last, cur, best)
		}
	case sentenceStart, sentenceEnd:
	case gap:
		for n := 0; n <= 5 && i+n <= len(m.toks); n++ {
			m.walk(rest, i+n, cur, best)
			if i+n < len(m.toks) && (m.toks[i+n].kind == lineToken || m.toks[i+n].kind == markToken) {
				return
			}
		}
	}
}

// partsListed is how many parts a list in a pattern may hold.
const partsListed = 4

// nextPart is where the next part of a list begins, or 0: "coil and new fuse".
func (m *message) nextPart(i int) int {
	switch m.tok(i).text {
	case "and", "&", ",", "+", "plus", "n":
		i++
	default:
		return 0
	}
	for _, w := range []string{"and", "a", "an", "the", "new"} {
		if m.isWord(i, w) {
			i++
		}
	}
	if c := m.chunkAt(i); c == nil || c.comp() == nil {
		return 0
	}
	return i
}

func (m *message) hasWords(ids []int32, i int) bool {
	if i+len(ids) > len(m.toks) {
		return false
	}
	for k, id := range ids {
		if m.toks[i+k].id != id {
			return false
		}
	}
	return true
}
