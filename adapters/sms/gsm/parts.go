package gsm

import (
	"strings"
	"unicode/utf16"
)

// What a message holds by itself, and what each part of a longer one holds.
const (
	septetsAlone = 160
	septetsEach  = 153
	unitsAlone   = 70
	unitsEach    = 67
)

// measure is how a text is counted: in septets, or in 16-bit units.
type measure struct {
	of          func(rune) int
	alone, each int
}

func measureOf(text string) measure {
	if Default(text) {
		return measure{Septets, septetsAlone, septetsEach}
	}
	return measure{units, unitsAlone, unitsEach}
}

// units is how many 16-bit units a character takes. What is no character is sent as
// the sign for one, which is one unit.
func units(r rune) int { return max(1, utf16.RuneLen(r)) }

// Parts is a text as the parts it is sent in; an empty one is one empty part. Joined
// they are the text.
func Parts(text string) []string {
	m := measureOf(text)
	if m.length(text) <= m.alone {
		return []string{text}
	}
	var out []string
	for text != "" {
		n := m.head(text, m.each)
		out, text = append(out, text[:n]), text[n:]
	}
	return out
}

// Count is how many parts a text is sent in.
func Count(text string) int { return len(Parts(text)) }

func (m measure) length(text string) int {
	n := 0
	for _, r := range text {
		n += m.of(r)
	}
	return n
}

// head is how many bytes of a text fit in so many septets or units, whole characters.
func (m measure) head(text string, most int) int {
	n := 0
	for i, r := range text {
		if n += m.of(r); n > most {
			return i
		}
	}
	return len(text)
}

// Cut splits a text into messages of at most so many parts each, at line ends if it can,
// else between words, never within a character. Joined with what it was cut at, they
// are the text.
func Cut(text string, most int) []string {
	var out []string
	for Count(text) > most {
		n := len(strings.Join(Parts(text)[:most], ""))
		if most == 1 { // by itself it needs no header
			m := measureOf(text)
			n = m.head(text, m.alone)
		}
		head := text[:n]
		at := strings.LastIndexByte(head, '\n')
		if at <= 0 {
			at = strings.LastIndexByte(head, ' ')
		}
		if at <= 0 {
			out, text = append(out, head), text[n:]
			continue
		}
		out, text = append(out, head[:at]), text[at+1:]
	}
	return append(out, text)
}
