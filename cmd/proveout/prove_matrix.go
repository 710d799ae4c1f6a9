package main

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules/prove"
)

// matrixOf plays the faults on both metering devices, two refrigerants and in three
// weathers.
func (p *proving) matrixOf(std streams, base *knowledge.Base, o prove.Options) error {
	cells, err := prove.Matrix(base, p.equipment, o)
	if err != nil {
		return err
	}
	failures := prove.MatrixFailures(base, cells)
	if p.asJSON {
		err = writeJSON(std.out, struct {
			Cells    []prove.Cell `json:"cells"`
			Failures []string     `json:"failures"`
		}{cells, failures})
	} else {
		err = printMatrix(std, base, cells)
	}
	if err != nil {
		return err
	}
	if len(failures) > 0 {
		return finding(strings.Join(failures, "; "))
	}
	return nil
}

// printMatrix writes the sums of every cell, then what stayed undecided and what it
// is declared alike with.
func printMatrix(std streams, base *knowledge.Base, cells []prove.Cell) error {
	var b bytes.Buffer
	w := columns(&b)
	fmt.Fprintln(w, "REFRIGERANT\tmetering\toutside\tside\tgames\tfound\tas alike\tundecided\tmisled\tquestions\tminutes\tflowchart\tof it\t")
	for _, c := range cells {
		for _, s := range c.Table.Summaries {
			fmt.Fprintf(w, "%s\t%s\t%s °F\t%s\t%5d\t%5d\t%8d\t%9d\t%6d\t%9.1f\t%7.1f\t%9.1f\t%5.2f\t\n",
				c.Facts["refrigerant"], c.Facts["metering-device"], c.Facts["outdoor-temperature"], s.Side,
				s.Games, s.Found, asAlike(c, s.Side), s.Undecided, s.Misled+s.Unproven, s.Measurements, s.Minutes, s.Flowchart, s.Ratio())
		}
	}
	_ = w.Flush() // into memory
	printUndecided(&b, base, cells)
	if _, err := std.out.Write(b.Bytes()); err != nil {
		return fmt.Errorf("writing the matrix: %w", err)
	}
	return nil
}

// asAlike counts the games found that ended in the call of a fault declared alike.
func asAlike(c prove.Cell, side prove.Side) int {
	n := 0
	for _, r := range c.Table.Rows {
		if r.Side == side {
			n += r.Found - r.Called[r.Fault]
		}
	}
	return n
}

func printUndecided(b *bytes.Buffer, base *knowledge.Base, cells []prove.Cell) {
	in := map[string]int{}
	why := map[string]string{}
	for _, c := range cells {
		for _, r := range c.Table.Rows {
			name := strings.TrimSpace(r.Fault + ", " + r.Severity)
			if r.Undecided > 0 {
				in[name]++
				why[name] = reasons(base.Faults[r.Fault].AlikeIn(r.Degree - 1))
			}
		}
	}
	if len(in) == 0 {
		return
	}
	b.WriteByte('\n')
	w := columns(b)
	fmt.Fprintln(w, "UNDECIDED\tin\tof\talike")
	for _, name := range ids(in) {
		fmt.Fprintf(w, "%s\t%2d\t%2d\t%s\n", name, in[name], len(cells), why[name])
	}
	_ = w.Flush() // into memory
}

func reasons(alike map[string]string) string {
	var out []string
	for _, f := range ids(alike) {
		out = append(out, f+": "+alike[f])
	}
	return strings.Join(slices.Compact(out), "; ")
}
