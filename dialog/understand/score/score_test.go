package score_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/dialog/understand/score"
	"proveout/knowledge"
)

func reader(t *testing.T) *understand.Reader {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	r, err := understand.New(base)
	require.NoError(t, err)
	return r
}

func run(t *testing.T, file string) score.Report {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	cases, err := score.Read(f)
	require.NoError(t, err)
	rep := score.Run(reader(t), cases)
	t.Log("\n" + rep.String())
	if testing.Verbose() {
		for _, m := range rep.Misses {
			t.Logf("%s\n   %q", m.Case.Text, m.Why)
		}
	}
	return rep
}

// floor fails a part that reads worse than it did.
func floor(t *testing.T, rep score.Report, readings, observations, intents, unclear float64) {
	t.Helper()
	require.Zero(t, rep.Invented, "invented numbers")
	require.LessOrEqual(t, float64(rep.WrongValues), 0.01*float64(rep.Values), "wrong values")
	require.GreaterOrEqual(t, rep.Readings.F1(), readings, "readings")
	require.GreaterOrEqual(t, rep.Observations.F1(), observations, "observations")
	require.GreaterOrEqual(t, rep.Intents.F1(), intents, "intents")
	require.GreaterOrEqual(t, rep.Unclear.Recall(), unclear, "unclear")
}

// The development part is what the words were tuned on.
func TestDevelopmentPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-dev.jsonl"), 0.99, 0.98, 0.98, 0.95)
}

// The second development part was written by people who had not seen the lexicon.
// When first read: readings 0.939, observations 0.865, facts 0.857, intents 0.863,
// and of 14 questions 8 were called for; the Spanish one 0.923, 0.872, 0.824, 1.000,
// and 2 of 4.
func TestSecondDevelopmentPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-dev2.jsonl"), 0.99, 0.98, 0.98, 0.95)
	floor(t, run(t, "../../../testdata/language/es-dev2.jsonl"), 0.99, 0.98, 0.98, 0.95)
}

// The first part was written before anything was tuned and opened at the end:
// readings 0.984, observations 0.940, intents 1.000, recall of unclear 0.91 then.
// It has been read since, so a new one is due before the next honest figure.
func TestFrozenPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-test.jsonl"), 0.98, 0.95, 0.97, 0.9)
}

func TestScoreCountsWhatItShould(t *testing.T) {
	t.Parallel()
	cases, err := score.Read(strings.NewReader(`{"text":"24 at the coil","want":{"readings":[{"reading":"voltage/contactor-coil","value":27},{"reading":"voltage/g","value":0}]}}`))
	require.NoError(t, err)
	rep := score.Run(reader(t), cases)
	require.Equal(t, score.Tally{Missed: 2, Extra: 1}, rep.Readings)
	require.Equal(t, 1, rep.WrongValues)
	require.Zero(t, rep.Invented)
	require.Len(t, rep.Misses, 1)
}

func TestBrokenLabelNamesItsLine(t *testing.T) {
	t.Parallel()
	_, err := score.Read(strings.NewReader("{}\n{broken\n"))
	require.ErrorContains(t, err, "line 2")
}

// The second part was written after the first was opened. When first read:
// readings 1.000, observations 0.733, intents 0.947 of few.
func TestSecondFrozenPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-test2.jsonl"), 0.98, 0.9, 0.95, 0.85)
}

// The third part, of other wordings again, was written before this round's words
// were tuned. When first read: readings 0.908, observations 0.875, intents 0.870,
// facts 0.900, unclear recall 1.00 and precision 0.55.
func TestThirdFrozenPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-test3.jsonl"), 0.98, 0.97, 0.97, 0.95)
}

// The fifth part and the second Spanish one were written by people who had seen
// neither the lexicon nor the other parts. When first read: readings 0.971,
// observations 0.922, facts 0.980, intents 0.939, unclear recall 1.00 and precision
// 0.73, 1 wrong value of 151; in Spanish 0.950, 0.971, 1.000, 0.919, and 1 of 49.
func TestWhatStrangersWrote(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-test5.jsonl"), 0.98, 0.97, 0.97, 0.95)
	floor(t, run(t, "../../../testdata/language/es-test2.jsonl"), 0.98, 0.97, 0.9, 0.95)
}

// The sixth part and the third Spanish one were written by one who had not seen the
// lexicon, dictated slips, hearsay and answers among them. When first read: readings
// 0.957, observations 0.923, facts 0.966, intents 0.979, unclear recall 0.80 and
// precision 0.57, 1 wrong value of 91; in Spanish 0.962, 0.963, 0.857, 1.000, no
// question due and 2 put, and none wrong of 25.
func TestWhatAStrangerWroteLast(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/en-test6.jsonl"), 0.98, 0.97, 0.97, 0.95)
	floor(t, run(t, "../../../testdata/language/es-test3.jsonl"), 0.98, 0.97, 0.97, 0.95)
}

// The Spanish parts: the second holds other wordings. When first read, with the
// lexicon its writer had written the same hour: readings 0.980, observations 0.850,
// intents 0.952.
func TestSpanishDevelopmentPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/es-dev.jsonl"), 0.98, 0.98, 0.98, 0.95)
}

func TestSpanishFrozenPart(t *testing.T) {
	t.Parallel()
	floor(t, run(t, "../../../testdata/language/es-test.jsonl"), 0.97, 0.95, 0.95, 0.95)
}
