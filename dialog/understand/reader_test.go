package understand_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/knowledge"
)

func newReader(t testing.TB) *understand.Reader {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	r, err := understand.New(base)
	require.NoError(t, err)
	return r
}

func TestAnythingGetsAnAnswerInTime(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for name, text := range map[string]string{
		"empty":         "",
		"spaces":        " \t\r\n ",
		"garbage":       "\xff\xfe\x00\x01\x80 24\xf0\x28\x8c\x28",
		"emoji":         "🔥🔥 coil 24 👍",
		"marks":         strings.Repeat("-/.,:#$%&@(", 2000),
		"one word":      strings.Repeat("a", 1<<20),
		"digits":        strings.Repeat("9", 1<<20),
		"words":         strings.Repeat("coil ", 1<<18/5),
		"readings":      strings.Repeat("24 at y 0 at the coil ", 1<<18/22),
		"figures":       strings.Repeat("24 ", 1<<18/3),
		"unknown words": strings.Repeat("qwxz zzkpq ", 1<<18/11),
		"number words":  strings.Repeat("two forty ", 1<<18/10),
		"states":        strings.Repeat("compressor and fan off not running ", 1<<18/35),
		"corrections":   strings.Repeat("24 no wait 26 scratch that ", 1<<18/27),
		"questions":     strings.Repeat("what what do the ", 1<<18/17),
		"calling":       strings.Repeat("with it calling 24 at y ", 1<<18/24),
		"subjects":      strings.Repeat("fan and ", 1<<18/8),
		"hearsay":       strings.Repeat("last week it was 24 ", 1<<18/20),
		"lists":         strings.Repeat("24, ", 1<<18/4),
		"and so on":     strings.Repeat("y and c and ", 1<<18/12),
	} {
		u := r.Understand(text, understand.Context{Asked: "voltage/contactor-coil"})
		took := time.Hour
		for range 3 { // the best of three: the machine may be busy with other tests
			start := time.Now()
			r.Understand(text, understand.Context{Asked: "voltage/contactor-coil"})
			took = min(took, time.Since(start))
		}
		// A reader that grows with the square of what it reads takes minutes here; one that
		// does not, a tenth of a second, and some ten times that on a full machine. Under the
		// race detector (-short) time says nothing of it.
		if !testing.Short() {
			require.Less(t, took, 20*time.Second, name)
		}
		t.Log(name, took)
		_, err := json.Marshal(u)
		require.NoError(t, err, name)
	}
}

func TestSameMessageSameUtterance(t *testing.T) {
	t.Parallel()
	const text = "24 at y, 0 at the coil, cap 44 and 4.8, 118 over 410, 64 and 98, what's next? blower on, fan off"
	a, err := json.Marshal(newReader(t).Understand(text, understand.Context{}))
	require.NoError(t, err)
	b, err := json.Marshal(newReader(t).Understand(text, understand.Context{}))
	require.NoError(t, err)
	require.JSONEq(t, string(a), string(b))
	require.Equal(t, string(a), string(b))
}

func TestNoSliceIsNil(t *testing.T) {
	t.Parallel()
	b, err := json.Marshal(newReader(t).Understand("", understand.Context{}))
	require.NoError(t, err)
	require.JSONEq(t, `{"readings":[],"observations":[],"facts":[],"intents":[],"unclear":[]}`, string(b))
}

// FuzzUnderstandInventsNoNumber holds the law: a reading's words stand in the
// message, and its value follows from the digits and number words of the text.
func FuzzUnderstandInventsNoNumber(f *testing.F) {
	for _, s := range []string{"24 at y, 0 at the coil", "two forty", "118 over 410, 64 and 98", "scratch that, 26 not 16", "\xff24", "between 22 and 26", "OL", "1.2k", "-24 kV", "the high 70s"} {
		f.Add(s, "voltage/contactor-coil")
	}
	r := newReader(f)
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(f, err)
	d := newDeriver(base)
	f.Fuzz(func(t *testing.T, text, asked string) {
		u := r.Understand(text, understand.Context{Asked: knowledge.ReadingID(asked)})
		for _, x := range u.Readings {
			require.Contains(t, text, x.Text)
			require.NotEmpty(t, x.Text)
			require.False(t, math.IsNaN(float64(x.Value)))
			require.True(t, d.holds(text, x), "%s = %v is nowhere in it", x.Reading, x.Value)
		}
		for _, x := range u.Unclear {
			require.Contains(t, text, x.Text)
		}
		_, err := json.Marshal(u)
		require.NoError(t, err)
	})
}

// BenchmarkLabelled reads every labelled message and reports the middle and the
// slowest hundredth: the bars are 150 µs and 500 µs.
func BenchmarkLabelled(b *testing.B) {
	files, err := filepath.Glob("../../testdata/language/*.jsonl")
	require.NoError(b, err)
	var texts []string
	for _, name := range files {
		raw, err := os.ReadFile(name)
		require.NoError(b, err)
		for line := range strings.SplitSeq(strings.TrimSpace(string(raw)), "\n") {
			var c struct {
				Text string `json:"text"`
			}
			require.NoError(b, json.Unmarshal([]byte(line), &c), name)
			texts = append(texts, c.Text)
		}
	}
	r := newReader(b)
	took := make([]float64, 0, 1<<16)
	for b.Loop() {
		for _, text := range texts {
			start := time.Now()
			r.Understand(text, understand.Context{})
			took = append(took, float64(time.Since(start).Microseconds()))
		}
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "µs-median")
	b.ReportMetric(took[len(took)*99/100], "µs-p99")
}

// Which language a message is in goes by its words; trade words in English are no
// English.
func TestLanguageOfAMessage(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string]string{
		"24 at the coil": "en", "cero en la bobina": "es", "24": "en", "": "en",
		"no enfría, el abanico de afuera no jala, 24 en el amarillo": "es",
		"el breaker está tripped y el compressor no prende":          "es",
		"once I got there the fan was off":                           "en",
	} {
		require.Equal(t, want, r.Understand(text, understand.Context{}).Language, text)
	}
}

// A pasted flood is read up to a bound, and the rest is counted.
func TestEndlessMessageIsReadInPart(t *testing.T) {
	t.Parallel()
	text := strings.Repeat("24 at y, 0 at the coil. ", 50_000)
	u := newReader(t).Understand(text, understand.Context{})
	require.Greater(t, u.Unread, len(text)-21_000)
	require.LessOrEqual(t, len(u.Readings), 200)
	require.LessOrEqual(t, len(u.Unclear), 200)
}

func BenchmarkUnderstand(b *testing.B) {
	r := newReader(b)
	b.ReportAllocs()
	for b.Loop() {
		r.Understand("with the stat calling I get 26 at the yellow outside, 26 after the low pressure switch and nothing at the coil, what's next?", understand.Context{})
	}
}

func TestThePartAskedForTakesWhatWasSeen(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	said := r.Understand("fan isnt runnin", understand.Context{})
	for answer, want := range map[string]string{
		"outside": "outdoor-fan", "outdoor fan": "outdoor-fan", "the condenser one": "outdoor-fan", "the one in the attic": "blower", "blower": "blower", "el de afuera": "outdoor-fan",
	} {
		u := r.Understand(answer, understand.Context{Standing: said.Standing})
		require.Equal(t, []understand.Observation{{Subject: want, State: "off"}}, u.Observations, answer)
		require.Empty(t, u.Standing, answer)
	}
}
