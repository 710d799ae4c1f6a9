package main

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/prove"
)

// proveTable prints what playing gave, for a person.
type proveTable struct {
	base    *knowledge.Base
	table   *prove.Table
	verbose bool
}

// print writes the table, then the sums, then the choice of tests beside the best
// there is.
func (p proveTable) print(out io.Writer) error {
	var b bytes.Buffer
	for _, side := range []prove.Side{prove.Electrical, prove.Process, prove.Sound} {
		p.side(&b, side)
	}
	p.sums(&b)
	p.subsets(&b)
	if _, err := out.Write(b.Bytes()); err != nil {
		return fmt.Errorf("writing the table: %w", err)
	}
	return nil
}

func columns(b io.Writer) *tabwriter.Writer { return tabwriter.NewWriter(b, 0, 0, 2, ' ', 0) }

func (p proveTable) side(b *bytes.Buffer, side prove.Side) {
	rows := slices.DeleteFunc(slices.Clone(p.table.Rows), func(r prove.Row) bool { return r.Side != side })
	if len(rows) == 0 {
		return
	}
	var lines bytes.Buffer
	w := columns(&lines)
	fmt.Fprintf(w, "%s\tdegree\tfound\tquestions\tminutes\tflowchart\t\n", strings.ToUpper(string(side)))
	for _, r := range rows {
		fmt.Fprintf(w, "%s\t%6d\t%s\t%9.1f\t%7.1f\t%9.1f\t%s\n", r.Fault, r.Degree, found(r), r.Measurements, r.Minutes, r.Flowchart, ended(r))
	}
	_ = w.Flush() // into memory
	printed := strings.SplitAfter(lines.String(), "\n")
	b.WriteString(printed[0])
	for i, r := range rows {
		b.WriteString(printed[i+1])
		if p.verbose {
			p.games(b, r)
		}
	}
	b.WriteByte('\n')
}

// found says in a word or a share whether a fault was found.
func found(r prove.Row) string {
	switch {
	case r.Games > 1:
		return fmt.Sprintf("%d/%d", r.Found, r.Games)
	case r.Found == 1:
		return "yes"
	case r.Undecided == 1:
		return "undecided"
	default:
		return "NO"
	}
}

// ended tells the games that did not end in the right call.
func ended(r prove.Row) string {
	var out []string
	if r.Undecided > 0 && r.Games > 1 {
		out = append(out, fmt.Sprintf("%d undecided", r.Undecided))
	}
	for _, f := range ids(r.Called) {
		if f != r.Fault {
			out = append(out, fmt.Sprintf("%d called %s", r.Called[f], f))
		}
	}
	if r.Unproven > 0 {
		out = append(out, fmt.Sprintf("%d WITHOUT PROOF", r.Unproven))
	}
	return strings.Join(out, ", ")
}

// games prints each question with its answer.
func (p proveTable) games(b *bytes.Buffer, r prove.Row) {
	for i, g := range r.Results {
		if len(r.Results) > 1 {
			fmt.Fprintf(b, "  game %d\n", i+1)
		}
		for k, s := range g.Steps {
			slip := ""
			if s.Wrong {
				slip = "  (a slip)"
			}
			fmt.Fprintf(b, "  %2d. %-7s  %s: %s  [%.1f min]%s\n", k+1, s.Ask.Purpose, p.question(s.Ask), p.answer(s), s.Ask.Minutes, slip)
		}
		switch {
		case g.Called == "":
			b.WriteString("      no call; left are " + left(g.Left) + "\n")
		case g.Unsure:
			fmt.Fprintf(b, "      call: %s, for a senior to confirm\n", p.base.Faults[g.Called].Name)
		default:
			fmt.Fprintf(b, "      call: %s\n", p.base.Faults[g.Called].Name)
		}
	}
}

func left(suspects []rules.Suspect) string {
	var out []string
	for _, s := range suspects[:min(len(suspects), 4)] {
		out = append(out, fmt.Sprintf("%s %.2f", s.Fault, s.Probability))
	}
	return strings.Join(out, ", ")
}

func (p proveTable) question(a *rules.Ask) string {
	switch {
	case a.Fact != "":
		return p.base.Facts[a.Fact].Name
	case a.Reading != "":
		return fmt.Sprintf("%s (%s)", cmp.Or(p.base.Measurements[a.Reading].Name, string(a.Reading)), a.State)
	default:
		return fmt.Sprintf("%s (%s)", a.Observation, a.State)
	}
}

func (p proveTable) answer(s prove.Step) string {
	switch {
	case s.Ask.Fact != "":
		return s.Fact
	case s.Ask.Reading == "":
		return s.Answer.Seen
	case math.IsInf(s.Answer.Value, 1):
		return "OL"
	}
	q := p.base.Quantities[s.Ask.Reading.Quantity()]
	if q == nil {
		return strconv.FormatFloat(s.Answer.Value, 'g', 3, 64)
	}
	return strconv.FormatFloat(s.Answer.Value, 'f', q.Decimals, 64) + " " + cmp.Or(q.Shown, q.Unit)
}

func (p proveTable) sums(b *bytes.Buffer) {
	w := columns(b)
	fmt.Fprintln(w, "IN ALL\tgames\tfound\tundecided\tmisled\twithout proof\tquestions\tminutes\tflowchart\tof it\tminutes by how often met")
	for _, s := range p.table.Summaries {
		fmt.Fprintf(w, "%s\t%5d\t%4.1f %%\t%9d\t%6d\t%13d\t%9.1f\t%7.1f\t%9.1f\t%5.2f\t%24.1f\n",
			s.Side, s.Games, 100*s.FoundShare(), s.Undecided, s.Misled, s.Unproven, s.Measurements, s.Minutes, s.Flowchart, s.Ratio(), s.Weighted)
	}
	_ = w.Flush() // into memory
	if p.table.Noise > 0 {
		fmt.Fprintf(b, "%.0f %% of first answers were wrong. Misled: a wrong call whose proof was in hand, put there by wrong answers.\n", 100*p.table.Noise)
	}
}

func (p proveTable) subsets(b *bytes.Buffer) {
	if len(p.table.Subsets) == 0 {
		return
	}
	b.WriteByte('\n')
	w := columns(b)
	fmt.Fprintln(w, "TOLD APART\tfaults\tbest\tengine\tratio\t")
	for _, s := range p.table.Subsets {
		fmt.Fprintf(w, "%s\t%6d\t%4.1f\t%6.1f\t%5.3f\t\n", s.Seen, len(s.Faults), s.Optimal, s.Engine, s.Ratio())
	}
	_ = w.Flush() // into memory
}
