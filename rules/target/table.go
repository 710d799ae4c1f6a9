package target

import (
	"fmt"
	"math"

	"proveout/knowledge"
)

// Table is a target table ready to be looked up.
type Table struct {
	// Mark and Source say how far its values may be trusted and where they come
	// from. They go wherever a value goes.
	Mark, Source string

	name, down, across string
	step               float64
	rows               []knowledge.TargetRow
	low, high          float64 // across, over all rows
}

// OutsideError is a place the table does not reach.
type OutsideError struct {
	Table, Reading   string
	Value, Low, High float64 // °F
}

// Error says how far the table reaches and the mend.
func (e *OutsideError) Error() string {
	return fmt.Sprintf("the %s is given from %g to %g °F of %s, not for %g °F; check the reading, or judge by the machine's own chart", e.Table, e.Low, e.High, e.Reading, e.Value)
}

// NoTargetError is a place inside the table that was left blank: no valid test can
// be made there.
type NoTargetError struct {
	Table, Down, Across string
	DownAt, AcrossAt    float64 // °F
	From                float64 // °F across from which there is a target
}

// Error says where the table is blank and what to do instead.
func (e *NoTargetError) Error() string {
	return fmt.Sprintf("there is no %s at %g °F %s and %g °F %s: no valid test can be made there; wait for a %s of %g °F or more, or weigh the charge in", e.Table, e.DownAt, e.Down, e.AcrossAt, e.Across, e.Across, e.From)
}

// New reads a target table. Its rows must rise and each hold a value.
func New(t *knowledge.Target) (*Table, error) {
	out := &Table{Mark: t.Mark, Source: t.Source, name: t.Name, down: t.Down, across: t.Across, step: t.Step, rows: t.Rows, low: math.Inf(1), high: math.Inf(-1)}
	if !(t.Step > 0) {
		return nil, fmt.Errorf("reading the %s: step %g; give how far apart the values of a row are", t.Name, t.Step)
	}
	if len(t.Rows) < 2 {
		return nil, fmt.Errorf("reading the %s: %d rows; give at least two", t.Name, len(t.Rows))
	}
	for i, r := range t.Rows {
		if len(r.Values) == 0 || i > 0 && !(r.At > t.Rows[i-1].At) {
			return nil, fmt.Errorf("reading the %s: row %d does not rise or holds nothing; sort the rows and leave empty ones out", t.Name, i+1)
		}
		out.low, out.high = min(out.low, r.From), max(out.high, out.end(r))
	}
	return out, nil
}

func (t *Table) end(r knowledge.TargetRow) float64 {
	return r.From + t.step*float64(len(r.Values)-1)
}

// At is the target at a place down and across, °F, straight between the cells
// around it. A NoTargetError comes where one of those is blank, an OutsideError
// where the table does not reach.
func (t *Table) At(down, across float64) (float64, error) {
	first, last := t.rows[0].At, t.rows[len(t.rows)-1].At
	if !(down >= first && down <= last) {
		return 0, &OutsideError{t.name, t.down, down, first, last}
	}
	if !(across >= t.low && across <= t.high) {
		return 0, &OutsideError{t.name, t.across, across, t.low, t.high}
	}
	i := 1
	for i < len(t.rows)-1 && t.rows[i].At < down {
		i++
	}
	share := (down - t.rows[i-1].At) / (t.rows[i].At - t.rows[i-1].At)
	value := 0.0
	for _, side := range []struct {
		row    knowledge.TargetRow
		weight float64
	}{{t.rows[i-1], 1 - share}, {t.rows[i], share}} {
		if side.weight == 0 {
			continue
		}
		v, ok := t.along(side.row, across)
		if !ok {
			return 0, &NoTargetError{t.name, t.down, t.across, down, across, side.row.From}
		}
		value += side.weight * v
	}
	return value, nil
}

// along reads one row between its cells; ok is false in its blank part.
func (t *Table) along(r knowledge.TargetRow, across float64) (value float64, ok bool) {
	x := (across - r.From) / t.step
	i := int(math.Floor(x))
	switch part := x - float64(i); {
	case i < 0 || i >= len(r.Values):
		return 0, false
	case part == 0:
		return r.Values[i], true
	case i+1 >= len(r.Values):
		return 0, false
	default:
		return r.Values[i] + part*(r.Values[i+1]-r.Values[i]), true
	}
}
