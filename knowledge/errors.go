package knowledge

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Error is one mistake in a knowledge file, with the place and the mend.
type Error struct {
	File         string
	Line, Column int
	ID           string // the item the mistake is in, as section/id; may be empty
	What         string
	Mend         string

	text string // the line itself
}

// Error gives file:line:column: item: what is wrong; how to mend it.
func (e *Error) Error() string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s:%d:%d: ", e.File, e.Line, e.Column)
	if e.ID != "" {
		b.WriteString(e.ID + ": ")
	}
	b.WriteString(e.What)
	if e.Mend != "" {
		b.WriteString("; " + e.Mend)
	}
	return b.String()
}

// shown keeps the line the mistake is in.
func (e *Error) shown(src []byte) *Error {
	lines := bytes.Split(src, []byte("\n"))
	if e.Line >= 1 && e.Line <= len(lines) {
		e.text = strings.TrimRight(string(lines[e.Line-1]), "\r")
	}
	return e
}

// excerptWidth is how much of a line an excerpt shows, in characters.
const excerptWidth = 100

// Excerpt gives the line the mistake is in, shortened around the place, and under it
// a caret; empty when there is no such line.
func (e *Error) Excerpt() string {
	line := []rune(strings.Map(visible, e.text))
	at := e.Column - 1
	if at < 0 || at >= len(line) {
		return ""
	}
	start, end := 0, len(line)
	if end > excerptWidth {
		start = max(0, min(at-excerptWidth/2, end-excerptWidth))
		end = start + excerptWidth
	}
	return string(line[start:end]) + "\n" + strings.Repeat(" ", at-start) + "^"
}

// visible puts a blank for what would move the caret or the terminal.
func visible(r rune) rune {
	if unicode.IsPrint(r) {
		return r
	}
	return ' '
}

// Errors is every mistake found in one load, in file order.
type Errors []*Error

// Error lists all mistakes, a line each.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// sorted orders by file, line, column and text, so that the same mistakes always
// read the same, and drops exact repeats.
func (es Errors) sorted() Errors {
	slices.SortStableFunc(es, func(a, b *Error) int {
		if c := strings.Compare(a.File, b.File); c != 0 {
			return c
		}
		if a.Line != b.Line {
			return a.Line - b.Line
		}
		if a.Column != b.Column {
			return a.Column - b.Column
		}
		return strings.Compare(a.What, b.What)
	})
	return slices.CompactFunc(es, func(a, b *Error) bool { return *a == *b })
}
