package knowledge

import (
	"fmt"
	"slices"
	"strings"
)

// Error is one mistake in a knowledge file, with the place and the mend.
type Error struct {
	File         string
	Line, Column int
	ID           string // the item the mistake is in, as section/id; may be empty
	What         string
	Mend         string
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
