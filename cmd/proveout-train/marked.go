package main

import (
	"fmt"
	"strings"

	"proveout/dialog/tagger"
	"proveout/dialog/understand"
)

// sentence is a message with the tag of every word.
type sentence struct {
	text  string
	words []tagger.Word
	tags  []tagger.Tag
}

// slotLetters are the letters of marked text: "[P coil] is [V 24]".
const slotLetters = "-QPVUCSNXD"

// parseMarked reads a message with its slots marked. The error says where a mark
// is not one.
func parseMarked(marked string) (sentence, error) {
	var text strings.Builder
	type run struct {
		from, to int
		slot     tagger.Slot
	}
	var runs []run
	for rest := marked; rest != ""; {
		open := strings.IndexByte(rest, '[')
		if open < 0 {
			text.WriteString(rest)
			break
		}
		text.WriteString(rest[:open])
		inner, after, ok := strings.Cut(rest[open+1:], "]")
		slot := strings.IndexByte(slotLetters, (inner + " ")[0])
		if !ok || slot < 1 || len(inner) < 3 || inner[1] != ' ' {
			return sentence{}, fmt.Errorf("reading the marks of %q: write [P words] with one of the letters %s", marked, slotLetters[1:])
		}
		from := text.Len()
		text.WriteString(inner[2:])
		runs = append(runs, run{from, text.Len(), tagger.Slot(slot)})
		rest = after
	}
	s := sentence{text: text.String()}
	s.words = understand.Words(s.text)
	s.tags = make([]tagger.Tag, len(s.words))
	for _, r := range runs {
		started := false
		for i, w := range s.words {
			if w.Start < r.from || w.End > r.to {
				continue
			}
			s.tags[i] = tagger.Inside(r.slot)
			if !started {
				s.tags[i], started = tagger.Begin(r.slot), true
			}
		}
	}
	return s, nil
}

// mark writes a sentence with its slots marked.
func (s sentence) mark() string {
	var b strings.Builder
	at := 0
	for _, span := range tagger.Spans(s.tags) {
		from, to := s.words[span.First].Start, s.words[span.Last-1].End
		b.WriteString(s.text[at:from])
		fmt.Fprintf(&b, "[%c %s]", slotLetters[span.Slot], s.text[from:to])
		at = to
	}
	b.WriteString(s.text[at:])
	return b.String()
}
