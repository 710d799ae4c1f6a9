package understand

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

// recognizers is where make recognizers puts the npm packages.
const recognizers = "../../.recognizers/node_modules/@microsoft"

// needRecognizers skips where node or the packages are not installed; in CI nothing
// is skipped.
func needRecognizers(t *testing.T) {
	t.Helper()
	_, noNode := exec.LookPath("node")
	_, noPackage := os.Stat(recognizers)
	if noNode == nil && noPackage == nil {
		return
	}
	if os.Getenv("CI") != "" {
		t.Fatal("node with the packages recognizers-text-number is not installed, and in CI no outside check is skipped: make recognizers")
	}
	t.Skip("node with the packages recognizers-text-number is not installed; figures are not checked against them (make recognizers)")
}

// extracted is a figure one of the two readers finds in a message.
type extracted struct {
	First int    `json:"first"`
	Last  int    `json:"last"`
	Value string `json:"value"`
	Unit  string `json:"unit"`
}

// judged is a stretch of a message the two read differently, and who is right.
type judged struct {
	Text   string `json:"text"`
	At     string `json:"at"`
	Ours   string `json:"ours"`
	Theirs string `json:"theirs"`
	Right  string `json:"right"` // ours, theirs, both or neither
	Why    string `json:"why"`
}

// TestFiguresAgainstTheOutside compares what a figure is, and its unit, with the
// published number recognizers on the frozen English parts. Every
// disagreement is listed in testdata/recognizers.jsonl with who is right and why;
// DIFFER=FILE writes the present ones there to be judged.
func TestFiguresAgainstTheOutside(t *testing.T) {
	t.Parallel()
	needRecognizers(t)
	texts := labelledTexts(t, "en-test*.jsonl")
	theirs := outside(t, texts)
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	r, err := New(base)
	require.NoError(t, err)

	agreed := 0
	var differ []judged
	for i, text := range texts {
		n, more := compare(text, r.figures(text), theirs[i])
		agreed, differ = agreed+n, append(differ, more...)
	}
	if path := os.Getenv("DIFFER"); path != "" {
		write(t, path, differ)
	}
	known := map[judged]judged{}
	for _, j := range readJudged(t, "testdata/recognizers.jsonl") {
		key := j
		key.Right, key.Why = "", ""
		known[key] = j
	}
	right, met := map[string]int{}, map[judged]bool{}
	for _, d := range differ {
		j, ok := known[d]
		require.True(t, ok, "a disagreement nobody judged: %+v", d)
		require.NotEmpty(t, j.Why, "%+v", j)
		right[j.Right]++
		met[d] = true // a message may hold it twice
	}
	maps.DeleteFunc(known, func(d, _ judged) bool { return met[d] })
	require.Empty(t, known, "judged, but no longer a disagreement")
	t.Logf("%d figures alike; of %d disagreements we are right in %d, they in %d, both in %d, neither in %d",
		agreed, len(differ), right["ours"], right["theirs"], right["both"], right["neither"])
	require.GreaterOrEqual(t, right["ours"], right["theirs"])
}

func labelledTexts(t *testing.T, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob("../../testdata/language/" + pattern)
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var texts []string
	for _, name := range files {
		raw, err := os.ReadFile(name)
		require.NoError(t, err)
		for line := range bytes.Lines(raw) {
			var c struct {
				Text string `json:"text"`
			}
			require.NoError(t, json.Unmarshal(line, &c))
			if !slices.Contains(texts, c.Text) {
				texts = append(texts, c.Text)
			}
		}
	}
	return texts
}

// outside asks the packages what figures the messages hold.
func outside(t *testing.T, texts []string) [][]extracted {
	t.Helper()
	var in bytes.Buffer
	for _, text := range texts {
		b, err := json.Marshal(text)
		require.NoError(t, err)
		in.Write(append(b, '\n'))
	}
	folder, err := filepath.Abs(recognizers)
	require.NoError(t, err)
	cmd := exec.CommandContext(t.Context(), "node", "testdata/recognizers.js", folder)
	cmd.Stdin = &in
	printed, err := cmd.Output()
	require.NoError(t, err)
	var all [][]extracted
	s := bufio.NewScanner(bytes.NewReader(printed))
	s.Buffer(nil, 1<<20)
	for s.Scan() {
		var found []extracted
		require.NoError(t, json.Unmarshal(s.Bytes(), &found))
		all = append(all, found)
	}
	require.Len(t, all, len(texts))
	for i := range all {
		for k := range all[i] {
			all[i][k].First, all[i][k].Last = inBytes(texts[i], all[i][k].First), inBytes(texts[i], all[i][k].Last)
		}
	}
	return all
}

// inBytes turns a place counted in UTF-16 into one counted in bytes.
func inBytes(s string, at int) int {
	return len(string(utf16.Decode(utf16.Encode([]rune(s))[:at])))
}

// figures are the figures of a message by the grammar alone, each end of a range
// for itself, with the unit said behind it.
func (r *Reader) figures(text string) []extracted {
	m := r.follow(text, Context{})
	var out []extracted
	for i := range m.values {
		v := &m.values[i]
		first, last := m.toks[v.figureStart].start, m.toks[v.figureEnd-1].end
		if v.kind != figure || v.use == aside && v.v == 0 && text[first:last] != "0" {
			continue
		}
		unit := ""
		if v.units != nil && v.last > v.figureEnd {
			unit, last = v.units[0].name, m.toks[v.last-1].end
		}
		ends := []float64{v.v}
		if v.low < v.high {
			ends = []float64{v.low, v.high}
		}
		for _, x := range ends {
			out = append(out, extracted{first, last, strconv.FormatFloat(x, 'g', -1, 64), unit})
		}
	}
	return out
}

// sameUnits are the names the packages give the units knowledge has.
var sameUnits = map[string]string{"Degree": "°F", "F": "°F", "C": "°C", "Inch": "inwc", "Percent": "%"}

// compare gives how many figures both find alike and where they differ.
func compare(text string, ours, theirs []extracted) (int, []judged) {
	agreed := 0
	var out []judged
	for len(ours)+len(theirs) > 0 {
		a, b, first, last := cluster(&ours, &theirs)
		if alike(a, b) {
			agreed += len(a)
			continue
		}
		out = append(out, judged{Text: text, At: text[first:last], Ours: list(a), Theirs: list(b)})
	}
	return agreed, out
}

// cluster takes the first stretch of the message in which figures overlap.
func cluster(ours, theirs *[]extracted) (a, b []extracted, first, last int) {
	first = math.MaxInt
	for _, x := range append(slices.Clone(*ours), *theirs...) {
		if x.First < first {
			first, last = x.First, x.Last
		}
	}
	for grown := true; grown; {
		grown = false
		for _, side := range []struct{ from, to *[]extracted }{{ours, &a}, {theirs, &b}} {
			*side.from = slices.DeleteFunc(*side.from, func(x extracted) bool {
				if x.First >= last || x.Last <= first {
					return false
				}
				first, last, grown = min(first, x.First), max(last, x.Last), true
				*side.to = append(*side.to, x)
				return true
			})
		}
	}
	return a, b, first, last
}

// alike tells that both found the same values and no other unit; a unit only one
// of them knows is no disagreement about the figure.
func alike(a, b []extracted) bool {
	values := func(list []extracted) []string {
		var out []string
		for _, x := range list {
			if f, err := strconv.ParseFloat(x.Value, 64); err == nil && !slices.Contains(out, strconv.FormatFloat(f, 'g', -1, 64)) {
				out = append(out, strconv.FormatFloat(f, 'g', -1, 64))
			}
		}
		slices.Sort(out)
		return out
	}
	if !slices.Equal(values(a), values(b)) {
		return false
	}
	for _, x := range a {
		for _, y := range b {
			if x.Unit != "" && y.Unit != "" && sameUnits[y.Unit] != x.Unit {
				return false
			}
		}
	}
	return true
}

func list(found []extracted) string {
	var out []string
	for _, x := range found {
		s := strings.TrimSpace(fmt.Sprintf("%s %s", x.Value, x.Unit))
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return strings.Join(out, ", ")
}

func readJudged(t *testing.T, path string) []judged {
	t.Helper()
	raw, err := os.ReadFile(path)
	require.NoError(t, err)
	var out []judged
	for line := range bytes.Lines(raw) {
		var j judged
		require.NoError(t, json.Unmarshal(line, &j))
		out = append(out, j)
	}
	return out
}

// write lists the disagreements to be judged.
func write(t *testing.T, path string, differ []judged) {
	t.Helper()
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	for _, d := range differ {
		require.NoError(t, e.Encode(d))
	}
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
}
