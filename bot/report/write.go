package report

import (
	_ "embed" // the page
	"encoding/csv"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
)

// Formats lists what Write knows.
func Formats() []string { return []string{"markdown", "json", "csv", "html"} }

// Write writes the report in a format.
func (r *Report) Write(w io.Writer, format string) error {
	switch format {
	case "markdown":
		_, err := io.WriteString(w, r.markdown())
		return err
	case "json":
		enc := json.NewEncoder(w)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		return enc.Encode(r)
	case "csv":
		return r.csv(w)
	case "html":
		return r.html(w)
	}
	return fmt.Errorf("there is no format %q; write one of %s", format, strings.Join(Formats(), ", "))
}

// shown is a time as people read it.
func shown(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04")
}

func joined(texts []string) string { return strings.Join(texts, ", ") }

// Heading names the job, and the shop where it is known.
func (r *Report) Heading() string {
	return strings.TrimPrefix(r.Shop+", "+r.words.Say("report-job", "job", r.Job), ", ")
}

// Fact is a row of a report's head.
type Fact struct{ Name, Value string }

// Facts are the rows of the report's head, those that are known.
func (r *Report) Facts() []Fact {
	say := r.words.Say
	all := []Fact{
		{say("report-technician"), r.Technician},
		{say("report-reported"), r.Title},
		{say("report-opened"), shown(r.Opened)},
		{say("report-closed"), shown(r.Closed)},
		{say("report-state"), say("board-" + r.Status)},
		{say("report-cause"), r.Cause},
		{say("report-proof"), strings.Join(r.Proof, "; ")},
		{say("report-repair"), r.Repair},
		{say("report-checked"), strings.Join(r.Passed, "; ")},
	}
	if r.Probability > 0 {
		all = append(all, Fact{say("report-probability"), strconv.FormatFloat(math.Round(1000*r.Probability)/10, 'f', -1, 64) + " %"})
	}
	if r.Unproven {
		all = append(all, Fact{say("report-note"), say("report-unproven")})
	}
	for _, v := range r.Rulings {
		id := "report-ruled-" + strings.ReplaceAll(v.Verdict, " ", "-")
		all = append(all, Fact{say("report-ruling"), say(id, "who", v.Who, "at", shown(v.At), "cause", v.Cause)})
	}
	known := all[:0]
	for _, f := range all {
		if f.Value != "" {
			known = append(known, f)
		}
	}
	return known
}

func (r *Report) markdown() string {
	// What people wrote is text, whatever it looks like.
	plain := strings.NewReplacer("\\", "\\\\", "*", "\\*", "_", "\\_", "`", "\\`", "#", "\\#", "|", "\\|", "<", "&lt;", "[", "\\[", "~", "\\~")
	cell := func(s string) string { return strings.ReplaceAll(plain.Replace(s), "\n", " ") }
	var b strings.Builder
	fmt.Fprintf(&b, "# %s\n\n| | |\n| --- | --- |\n", cell(r.Heading()))
	for _, f := range r.Facts() {
		fmt.Fprintf(&b, "| %s | %s |\n", f.Name, cell(f.Value))
	}
	fmt.Fprintf(&b, "\n## %s\n", r.words.Say("report-said"))
	for _, s := range r.Said {
		fmt.Fprintf(&b, "\n**%s, %s**  \n%s\n", cell(s.Who), s.At.Format("15:04"), strings.ReplaceAll(plain.Replace(s.Text), "\n", "  \n"))
	}
	fmt.Fprintf(&b, "\n%s\n", r.words.Say("report-knowledge", "versions", joined(r.Knowledge)))
	return b.String()
}

func (r *Report) csv(w io.Writer) error {
	// A spreadsheet takes a cell that begins so for a formula.
	cell := func(s string) string {
		if strings.ContainsAny(s[:min(1, len(s))], "=+-@\t\r") {
			return "'" + s
		}
		return s
	}
	out := csv.NewWriter(w)
	rows := [][]string{{"job", "seq", "at", "kind", "who", "text", "status", "fault", "probability", "knowledge"}}
	for _, s := range r.Said {
		p := ""
		if s.Probability > 0 {
			p = strconv.FormatFloat(s.Probability, 'f', 4, 64)
		}
		rows = append(rows, []string{r.Job, strconv.FormatInt(s.Seq, 10), s.At.Format(time.RFC3339), s.Kind, cell(s.Who), cell(s.Text), s.Status, s.Fault, p, s.Knowledge})
	}
	return out.WriteAll(rows)
}

//go:embed report.html
var page string

func (r *Report) html(w io.Writer) error {
	t, err := template.New("report").Funcs(template.FuncMap{"shown": shown, "say": r.words.Say, "language": func() string { return r.language }, "join": joined}).Parse(page)
	if err != nil {
		return fmt.Errorf("reading the report's page: %w", err)
	}
	return t.Execute(w, r)
}
