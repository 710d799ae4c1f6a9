package understand_test

import (
	"maps"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/dialog/understand/score"
	"proveout/knowledge"
)

// deriver finds, by means of its own and not the grammar's, every number a text
// could be taken to hold: what its digits and number words spell, with the few
// steps a reading may take from there.
type deriver struct {
	base  *knowledge.Base
	words map[string]float64
}

func newDeriver(base *knowledge.Base) *deriver {
	d := &deriver{base: base, words: map[string]float64{"hundred": 100, "thousand": 1000, "too": 2, "half": 0.5, "quarter": 0.25, "quarters": 0.75, "medio": 0.5, "media": 0.5, "mil": 1000}}
	for _, p := range base.Lexicon.Sorted() {
		maps.Copy(d.words, p.Numbers)
	}
	return d
}

var digits = regexp.MustCompile(`[0-9]+`)

// plain turns full-width digits and fraction signs into the usual ones.
func plain(text string) string {
	text = strings.Map(func(r rune) rune {
		if r >= '０' && r <= '９' {
			return r - '０' + '0'
		}
		if r == '．' {
			return '.'
		}
		return r
	}, text)
	return strings.NewReplacer("½", " 0.5 ", "¼", " 0.25 ", "¾", " 0.75 ").Replace(strings.ToLower(text))
}

// atoms are the numbers the text spells outright.
func (d *deriver) atoms(text string) []float64 {
	text = plain(text)
	var out []float64
	add := func(s string) {
		if x, err := strconv.ParseFloat(s, 64); err == nil && !math.IsInf(x, 0) {
			out = append(out, x)
		}
	}
	for _, at := range digits.FindAllStringIndex(text, -1) {
		add(text[at[0]:at[1]])
	}
	// Decimals with a point or a comma, thousands, exponents.
	for _, s := range regexp.MustCompile(`[0-9]*[.,]?[0-9]+(e[-+]?[0-9]+)?`).FindAllString(text, -1) {
		add(strings.ReplaceAll(s, ",", "."))
	}
	for _, s := range regexp.MustCompile(`[0-9][0-9,]*(\.[0-9]+)?`).FindAllString(text, -1) {
		add(strings.ReplaceAll(s, ",", ""))
	}
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }) {
		if x, ok := d.words[w]; ok {
			out = append(out, x)
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// holds tells that a value follows from the atoms: one or up to four of them put
// together as numbers are said, half of a range, and a conversion of unit.
func (d *deriver) holds(text string, r understand.Reading) bool {
	x := float64(r.Value)
	if math.IsInf(x, 0) || x == 0 {
		return true // words: nothing, open, continuity
	}
	targets := []float64{x}
	if q := d.base.Quantities[r.Reading.Quantity()]; q != nil {
		for _, u := range q.Units {
			if u.Factor != 0 {
				targets = append(targets, (x-u.Offset)/u.Factor)
			}
		}
	}
	// The reading's own words first; the whole text where they only point to it.
	for _, from := range []string{r.Text, text} {
		atoms := d.atoms(from)
		if len(atoms) > mostTried {
			return true // too much to try; shorter texts hold the law
		}
		said := d.said(atoms)
		if slices.ContainsFunc(targets, func(y float64) bool { return d.spells(said, math.Abs(y)) }) {
			return true
		}
	}
	return false
}

// mostTried is how many numbers of a text are put together.
const mostTried = 12

// spells tells that a number is among those said, or a step from them.
func (d *deriver) spells(said []float64, y float64) bool {
	near := func(a float64) bool { return math.Abs(math.Abs(a)-y) <= 1e-4*math.Max(y, 1e-6) }
	for _, a := range said {
		if near(a) {
			return true
		}
		for _, step := range []float64{2.5, 5, 7.5} { // low, mid and high of a decade
			if math.Mod(a, 10) == 0 && near(a+step) {
				return true
			}
		}
	}
	// The middle of a range.
	for _, a := range said {
		if _, ok := slices.BinarySearchFunc(said, 2*y-a, func(b, want float64) int {
			switch {
			case math.Abs(b-want) <= 1e-4*math.Max(math.Abs(want), 1e-6):
				return 0
			case b < want:
				return -1
			}
			return 1
		}); ok {
			return true
		}
	}
	return false
}

// said puts atoms together as they are said: forty six, two forty six, a thousand
// two hundred, twelve point five, seven and a half.
func (d *deriver) said(atoms []float64) []float64 {
	out := slices.Clone(atoms)
	for _, a := range atoms {
		out = append(out, 1000*a, 100*a, a/10, a/100)
		for _, b := range atoms {
			tens := a >= 20 && a < 100 && b < 10
			switch {
			case tens:
				out = append(out, a+b, (a+b)/100)
			case a == math.Trunc(a) && b < 1:
				out = append(out, a+b)
			}
			if b < 10 {
				out = append(out, a+b/10)
			}
			if b < 100 {
				out = append(out, a+b/100)
			}
			if b < 1000 {
				out = append(out, a*1000+b)
			}
			if a < b && b <= 32 {
				out = append(out, a/b)
			}
			if a < 100 && b < 100 {
				out = append(out, 100*a+b)
			}
			if a < 10 && b < 10 {
				out = append(out, a/10+b/100) // point eight two
			}
			for _, c := range atoms {
				if a >= 100 && a < 1000 && b >= 20 && b < 100 && c < 10 {
					out = append(out, a+b+c)
				}
				if a < 10 && b >= 20 && b < 100 && c < 10 {
					out = append(out, 100*a+b+c)
				}
				if b < c && c <= 32 {
					out = append(out, a+b/c)
				}
			}
		}
	}
	for _, a := range slices.Clone(out) {
		for _, b := range atoms {
			if b < 1 || a >= 100 && math.Mod(a, 100) == 0 && b < 100 {
				out = append(out, a+b)
			}
			if a == math.Trunc(a) && b < 10 {
				out = append(out, a+b/10, a+b/100)
			}
		}
	}
	out = slices.DeleteFunc(out, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
	slices.Sort(out)
	return slices.Compact(out)
}

// TestEveryValueIsDerivable holds the law over the labelled messages.
func TestEveryValueIsDerivable(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	d, r := newDeriver(base), newReader(t)
	files, err := filepath.Glob("../../testdata/language/*.jsonl")
	require.NoError(t, err)
	for _, name := range files {
		file, err := os.Open(name)
		require.NoError(t, err)
		cases, err := score.Read(file)
		require.NoError(t, err)
		require.NoError(t, file.Close())
		for _, c := range cases {
			for _, x := range r.Understand(c.Text, understand.Context{}).Readings {
				require.True(t, d.holds(c.Text, x), "%s: %s = %v", c.Text, x.Reading, x.Value)
			}
		}
	}
	require.False(t, d.holds("24 at the coil", understand.Reading{Reading: "voltage/contactor-coil", Value: 26}))
}

// What nobody expects of a message still gets a sensible utterance: a hundred
// readings keep the last of each point, chatter and other languages give none.
func TestMessagesOutOfTheOrdinary(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	hundred := strings.Repeat("25 at y, 25 past the lps, 25 past the hps, 0 at the coil. ", 24) + "26 at y, 26 past the lps, 26 past the hps, 24 at the coil."
	require.Equal(t, "voltage/y-outdoor 26, voltage/low-pressure-switch-out 26, voltage/high-pressure-switch-out 26, voltage/contactor-coil 24", show(r.Understand(hundred, outdoors)))
	for _, text := range []string{
		strings.Repeat("man the traffic on the bridge was something else and then my phone died on me again. ", 120),
		"Der Verdichter macht keinen Mucks, und draussen regnet es seit Tagen",
		"le compresseur ne demarre pas et il fait chaud",
		"lol that's what my brother in law said, see you saturday",
	} {
		u := r.Understand(text, outdoors)
		require.Empty(t, u.Readings, text)
		require.Empty(t, u.Unclear, text)
		require.Zero(t, u.Unread, text)
	}
}
