package ladder

import (
	"math"
	"strings"
	"unicode/utf8"
)

// metrics are the sizes a grid is drawn with, in the unit of the medium.
type metrics struct {
	character func(class) float64 // width of one
	line      func(class) float64 // height of a line
	size      func(class) float64 // of the letters
	// long and broad are a lying symbol's length along the wire and its half across
	// it, tall and wide a standing one's.
	long, broad, tall, wide float64
	stub, pad, gap, margin  float64
	wrap                    int
	between, ground         float64 // heights of a transformer between rows, and of a sign of earth
	routes                  bool    // whether a meter and its leads are drawn
	terse                   bool    // whether the key alone says what a sign means
	// row is the room between rows that nothing else asks for.
	row float64
	// middle and edge are the places a line, and a label's edge, can have.
	middle, edge func(float64) float64
}

// picture is for a screen or paper, in CSS pixels. A character is taken as wide as the
// widest of the common sans-serif faces has it on average.
func picture() *metrics {
	size := func(c class) float64 {
		switch c {
		case classHeading:
			return 17
		case classTitle:
			return 13
		case className, classValue, classMeter:
			return 12
		default:
			return 11
		}
	}
	return &metrics{
		character: func(c class) float64 {
			if c.bold() {
				return 0.67 * size(c)
			}
			return 0.6 * size(c)
		},
		size: size,
		line: func(c class) float64 { return math.Ceil(1.25 * size(c)) },
		long: 36, broad: 13, tall: 36, wide: 13,
		stub: 12, pad: 5, gap: 30, margin: 20, wrap: 14, between: 62, ground: 15.5,
		routes: true, row: 5, middle: math.Round, edge: math.Round,
	}
}

// terminal is for a terminal: a unit is a character, a line on the grid lies in the
// middle of one.
func terminal() *metrics {
	return &metrics{
		character: func(class) float64 { return 1 },
		line:      func(class) float64 { return 1 },
		long:      5, broad: 0.5, tall: 1, wide: 1.5,
		stub: 1, pad: 0.5, gap: 3, margin: 0.5, wrap: 12, between: 3, ground: 1,
		terse: true, middle: math.Floor,
		edge: func(v float64) float64 { return math.Floor(v) + 0.5 },
	}
}

func (m *metrics) width(s string, c class) float64 {
	return m.character(c) * float64(utf8.RuneCountInString(s))
}

// wrapped breaks a name into lines at its spaces, and a word that is too long after a
// hyphen.
func (m *metrics) wrapped(s string) []string {
	long := utf8.RuneCountInString
	var lines []string
	for word := range strings.FieldsSeq(s) {
		if n := len(lines) - 1; n >= 0 && long(lines[n])+1+long(word) <= m.wrap {
			lines[n] += " " + word
			continue
		}
		for at := strings.LastIndex(word, "-") + 1; at > 0 && at < len(word) && long(word) > m.wrap; at = strings.LastIndex(word, "-") + 1 {
			lines = append(lines, word[:at])
			word = word[at:]
		}
		lines = append(lines, word)
	}
	return lines
}
