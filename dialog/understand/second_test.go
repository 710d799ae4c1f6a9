package understand_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/dialog/tagger"
	"proveout/dialog/understand"
	"proveout/knowledge"
)

// one reader for all of them: a Reader is never changed.
var one = sync.OnceValues(func() (*understand.Reader, error) {
	base, err := knowledge.Load(knowledge.Embedded())
	if err != nil {
		return nil, err
	}
	return understand.New(base)
})

func shared(t testing.TB) *understand.Reader {
	t.Helper()
	r, err := one()
	require.NoError(t, err)
	return r
}

// What the second reader may do, and what it must leave alone.
func TestSecondReader(t *testing.T) {
	t.Parallel()
	r := shared(t)
	alone := r.Alone()
	for _, c := range []struct {
		law, text   string
		first, both string // what grammar and lexicon read, and both readers
	}{
		{"words known, nothing changes", "24 at the coil", "voltage/contactor-coil 24", "voltage/contactor-coil 24"},
		{"a name is heard as it sounds", "sukshun 118", "?118", "pressure/suction 118"},
		{"several are", "kontakter koyl 24", "?24", "voltage/contactor-coil 24"},
		{"a word that sounds like none stays unknown, and what it stands beside is asked", "kontakter qwzxt koyl 24", "?24", "?24"},
		{"a number word is never guessed", "thrtee at the coil", "", ""},
	} {
		require.Equal(t, c.first, show(alone.Understand(c.text, understand.Context{})), "%s: %s", c.law, c.text)
		require.Equal(t, c.both, show(r.Understand(c.text, understand.Context{})), "%s: %s", c.law, c.text)
	}
}

func TestANumberThatIsNoReadingIsNotAskedAbout(t *testing.T) {
	t.Parallel()
	r := shared(t)
	const text = "the crib is 30 wide"
	require.NotEmpty(t, r.Alone().Understand(text, understand.Context{}).Unclear)
	require.NotEmpty(t, r.With(nil).Understand(text, understand.Context{}).Unclear)
	require.Empty(t, r.Understand(text, understand.Context{}).Unclear)
}

// A figure in talk of other things is asked about when it looks like a reading.
func TestAReadingAmongOtherTalkIsAskedAbout(t *testing.T) {
	t.Parallel()
	r := shared(t)
	const text = "got 27.1 with the door shut"
	require.Empty(t, r.With(nil).Understand(text, understand.Context{}).Unclear)
	u := r.Understand(text, understand.Context{})
	require.Len(t, u.Unclear, 1)
	require.Equal(t, "27.1", u.Unclear[0].Text)
	require.Empty(t, u.Readings)
}

// Whatever the words, the second reader takes no figure the first did not see, and
// every word it reads stands in the message.
func TestSecondReaderMakesNoFigure(t *testing.T) {
	t.Parallel()
	r := shared(t)
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOfN(rapid.SampledFrom([]string{
			"24", "118", "0", "7.5", "koyl", "kontakter", "sukshun", "hedd", "thee", "fiv", "zro", "nothng", "opn", "at", "the", "is", ",",
			"fann", "cap", "volts", "vlts", "oh", "suite", "qwzx", "dead", "ded", "l1", "no", "wait", "\n", "ohms", "amps", "likwid",
		}), 1, 12).Draw(t, "words")
		text := ""
		for _, w := range words {
			text += w + " "
		}
		figures := map[understand.Value]bool{}
		alone := r.Alone().Understand(text, understand.Context{})
		for _, rd := range alone.Readings {
			figures[rd.Value] = true
		}
		for _, v := range []understand.Value{24, 118, 0, 7.5} {
			figures[v] = true
		}
		for _, rd := range r.Understand(text, understand.Context{}).Readings {
			require.True(t, figures[rd.Value] || rd.Low != rd.High || rd.Said != "", "%q: %v", text, rd)
			require.Contains(t, text, rd.Text)
		}
	})
}

func TestBothReadersAnswerManyAtOnce(t *testing.T) {
	t.Parallel()
	r := shared(t)
	const text = "kontakter koyl 24, sukshun 118, suite 44"
	want := show(r.Understand(text, understand.Context{}))
	var all sync.WaitGroup
	for range 8 {
		all.Go(func() {
			for range 50 {
				if show(r.Understand(text, understand.Context{})) != want {
					t.Error("read otherwise beside others")
					return
				}
			}
		})
	}
	all.Wait()
}

// Slots are what training learns from the labelled messages.
func TestSlotsOfAMessageReadAsLabelled(t *testing.T) {
	t.Parallel()
	words, tags := shared(t).Slots("24 v at the contactor coil, compressor not running, suite 118", understand.Context{})
	got := map[string]string{}
	for _, s := range tagger.Spans(tags) {
		got[words[s.First].Text] = s.Slot.String()
	}
	require.Equal(t, map[string]string{"24": "value", "v": "unit", "contactor": "point", "compressor": "component", "not": "negation", "running": "state", "118": "distractor"}, got)
}

func TestExplanationShowsTagsAndWhatTheSecondReaderDid(t *testing.T) {
	t.Parallel()
	x := shared(t).Explain("kontakter koyl qwzxt 24", understand.Context{})
	require.NotEmpty(t, x.Tags)
	require.Contains(t, x.Tags[0], "kontakter ")
	x = shared(t).Explain("the crib is 30 wide", understand.Context{})
	require.Len(t, x.Second, 1)
	require.Contains(t, x.Second[0], `"30" is no reading`)
}
