package ladder

import (
	"io"

	"proveout/knowledge"
)

// Drawing is a unit's wiring with what is marked on it, ready to be drawn in any
// medium.
type Drawing struct {
	net     *netlist
	marking Marking
	words   Words
}

// Draw reads the wiring of an equipment. words are in the language of the drawing, as
// knowledge is; the error names what there is no knowledge of.
func Draw(base *knowledge.Base, equipment string, marking Marking) (Drawing, error) {
	n, err := read(base, equipment)
	if err != nil {
		return Drawing{}, err
	}
	return Drawing{net: n, marking: marking, words: base.Phrases}, nil
}

// rung is how many elements a rung of a picture takes.
const rung = 9

func (d *Drawing) sheet(m *metrics, limit int) *sheet {
	return newDraft(d.net, d.marking, d.words, m, limit).sheet()
}

var _ io.Writer
