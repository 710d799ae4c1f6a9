package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"

	"proveout/dialog/tagger"
	"proveout/dialog/understand"
	"proveout/dialog/understand/score"
	"proveout/knowledge"
)

// report prints how a model marks the development messages, and what it adds to
// grammar and lexicon on every labelled part.
func (r recipe) report(out io.Writer, base *knowledge.Base, m *tagger.Model, language string) error {
	for _, part := range append(slices.Clone(devParts), "unknown-test") {
		sentences, err := readMarked(filepath.Join(language, "tagger", part+".jsonl"))
		if err != nil {
			return err
		}
		measure(m, sentences).print(out, part)
		if part != "unknown-test" {
			for _, s := range sentences {
				if got := marked(m, s); got != s.mark() {
					fmt.Fprintf(out, "  %s\n", got)
				}
			}
		}
	}
	reader, err := understand.New(base)
	if err != nil {
		return err
	}
	readers := []namedReader{{"grammar", reader.Alone()}, {"and sounds", reader.With(nil)}, {"and tagger", reader.With(m)}}
	for _, part := range []string{"en-dev", "en-test", "en-test2", "en-test3", "es-dev", "es-test", "tagger/unknown-dev", "tagger/unknown-test"} {
		cases, err := readCases(filepath.Join(language, filepath.FromSlash(part)+".jsonl"))
		if err != nil {
			return err
		}
		compare(out, part, readers, cases)
		if !strings.HasPrefix(part, "tagger/") {
			compare(out, part+", misspelt", readers, r.misspelt(reader, cases))
		}
	}
	return nil
}

// namedReader is a reader under the name the report gives it.
type namedReader struct {
	name   string
	reader *understand.Reader
}

// compare scores readers on the same messages, and judges the readings each has
// that the first has not.
func compare(out io.Writer, part string, readers []namedReader, cases []score.Case) {
	for _, x := range readers {
		rep, v := score.Run(x.reader, cases), added(readers[0].reader, x.reader, cases)
		fmt.Fprintf(out, "%-20s %-11s %3d of %3d as labelled | readings F1 %.3f precision %.3f (%d right, %d missed, %d extra) | seen %.3f | intents %.3f | unclear recall %.3f, %d extra | wrong values %d | invented %d | added %d right, %d wrong\n",
			part, x.name, rep.Messages-len(rep.Misses), rep.Messages, rep.Readings.F1(), precision(rep.Readings), rep.Readings.Right, rep.Readings.Missed,
			rep.Readings.Extra, rep.Observations.F1(), rep.Intents.F1(), rep.Unclear.Recall(), rep.Unclear.Extra, rep.WrongValues, rep.Invented, v.right, v.wrong)
	}
}

func precision(t score.Tally) float64 {
	return float64(t.Right) / float64(max(t.Right+t.Extra, 1))
}

// verdicts counts the readings one reader has and the other has not.
type verdicts struct{ right, wrong int }

// added judges the readings only the second of two readers has.
func added(alone, both *understand.Reader, cases []score.Case) verdicts {
	var v verdicts
	for _, c := range cases {
		ctx := c.Context()
		had, got := alone.Understand(c.Text, ctx).Readings, both.Understand(c.Text, ctx).Readings
		for _, rd := range got {
			switch {
			case holds(had, rd):
			case holds(c.Want.Readings, rd):
				v.right++
			default:
				v.wrong++
			}
		}
	}
	return v
}

func holds(list []understand.Reading, rd understand.Reading) bool {
	return slices.ContainsFunc(list, func(x understand.Reading) bool {
		a, b := float64(x.Value), float64(rd.Value)
		return x.Reading == rd.Reading && (a == b || math.Abs(a-b) <= 0.005*math.Abs(b))
	})
}

// misspelt gives ten copies of each message with every name in it misspelt; what
// it should be read as stays.
func (r recipe) misspelt(reader *understand.Reader, cases []score.Case) []score.Case {
	rng := rand.New(rand.NewPCG(r.seed, 3))
	var out []score.Case
	for range 10 {
		for _, c := range cases {
			words, tags := reader.Slots(c.Text, c.Context())
			c.Text = corrupt(rng, sentence{c.Text, words, tags}, corruption{slotTypo: 100}).text
			out = append(out, c)
		}
	}
	return out
}
