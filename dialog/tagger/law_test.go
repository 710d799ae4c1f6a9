package tagger

import (
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
)

// split is a plain stand-in for the reader's own splitting.
func split(text string) []Word {
	var words []Word
	at := 0
	for f := range strings.FieldsSeq(text) {
		start := at + strings.Index(text[at:], f)
		at = start + len(f)
		kind := Letters
		switch {
		case f[0] >= '0' && f[0] <= '9':
			kind = Figure
		case strings.ContainsRune(",.;:!?", rune(f[0])):
			kind = Mark
		}
		words = append(words, Word{Text: strings.ToLower(f), Start: start, End: at, Kind: kind})
	}
	return words
}

// random is a model whose weights mean nothing.
func random(t testing.TB, seed uint64, size float32) *Model {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, 7))
	w := &Weights{Rows: make([][Tags]float32, 256)}
	any1 := func() float32 { return (r.Float32() - 0.5) * size }
	for i := range w.Rows {
		for j := range Tags {
			w.Rows[i][j] = any1()
		}
	}
	for a := range Tags {
		w.First[a], w.Last[a] = any1(), any1()
		for b := range Tags {
			w.Step[a][b] = any1()
		}
	}
	m, err := New(w, "none")
	require.NoError(t, err)
	return m
}

func embeddedModel(t testing.TB) *Model {
	t.Helper()
	m, err := Embedded()
	require.NoError(t, err)
	return m
}

// wellFormed holds the laws of every answer: one result a word, a slot continued
// only where it was begun, and probabilities that are some.
func wellFormed(t *testing.T, words []Word, got []Result) {
	t.Helper()
	require.Len(t, got, len(words))
	before := Outside
	for i, r := range got {
		require.Less(t, r.Tag, Tag(Tags))
		require.True(t, follows(before, r.Tag), "word %d: %s after %s", i, r.Tag, before)
		for _, p := range []float32{r.Certain, r.Aside} {
			require.False(t, math.IsNaN(float64(p)))
			require.GreaterOrEqual(t, p, float32(0))
			require.LessOrEqual(t, p, float32(1.00001))
		}
		before = r.Tag
	}
}

func FuzzTagsAreWellFormed(f *testing.F) {
	for _, s := range []string{"", "24 at the coil", "kontacktor coyl 25", "\xff\xfe é ñ", strings.Repeat("a", 300) + " 1", ", . , . 5", "118 over 410\n64 and 98"} {
		f.Add(s, uint64(1))
	}
	trained := embeddedModel(f)
	f.Fuzz(func(t *testing.T, text string, seed uint64) {
		words := split(text)
		wellFormed(t, words, trained.Tag(words, nil))
		wellFormed(t, words, random(t, seed, 4000).Tag(words, nil))
	})
}

// Every word of a slot can be said in any kind: what splits messages is not asked.
func FuzzAnyWordsAtAll(f *testing.F) {
	f.Add([]byte("\x00abc\x01\x7f\x02"))
	m := embeddedModel(f)
	f.Fuzz(func(t *testing.T, raw []byte) {
		var words []Word
		for i := 0; i+1 < len(raw); i += 2 {
			words = append(words, Word{Text: string(raw[i : i+1+int(raw[i])%(len(raw)-i)]), Kind: Kind(raw[i+1]) % 4, Glued: raw[i]&1 == 1})
			if len(words) > 60 {
				break
			}
		}
		wellFormed(t, words, m.Tag(words, nil))
	})
}

// The chain against a dumb twin that tries every way to tag a short message.
func TestChainAgainstEveryWayToTag(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		m := random(t, seed, 3)
		words := split("coil reads 24")
		got := m.Tag(words, nil)
		var s scratch
		s.size(len(words))
		m.emit(&s, words)
		var best [3]Tag
		top, total := math.Inf(-1), 0.0
		var mass [3][Slots]float64
		for a := range Tag(Tags) {
			for b := range Tag(Tags) {
				for c := range Tag(Tags) {
					x := float64(m.first[a] + m.step[a][b] + m.step[b][c] + m.last[c] + s.score[0][a] + s.score[1][b] + s.score[2][c])
					if x > top {
						top, best = x, [3]Tag{a, b, c}
					}
					p := math.Exp(x)
					total += p
					for i, tag := range [3]Tag{a, b, c} {
						mass[i][tag.Slot()] += p
					}
				}
			}
		}
		for i := range got {
			require.Equal(t, best[i], got[i].Tag, "seed %d, word %d", seed, i)
			require.InDelta(t, mass[i][best[i].Slot()]/total, got[i].Certain, 1e-4)
			require.InDelta(t, mass[i][Distractor]/total, got[i].Aside, 1e-4)
		}
	}
}

func TestALongMessageKeepsItsProbabilities(t *testing.T) {
	t.Parallel()
	words := split(strings.Repeat("kontakter koyl 24 and sukshun 118 , ", 400))
	wellFormed(t, words, embeddedModel(t).Tag(words, nil))
	wellFormed(t, words, random(t, 3, 4000).Tag(words, nil))
}

func TestManyAskOneModelAtOnce(t *testing.T) {
	t.Parallel()
	m := embeddedModel(t)
	texts := []string{"kontakter koyl 24", "", "suite 118 by the gate", strings.Repeat("head 405 ", 50), "24"}
	var want [][]Result
	for _, text := range texts {
		want = append(want, m.Tag(split(text), nil))
	}
	var all sync.WaitGroup
	for range 16 {
		all.Go(func() {
			for i := range 200 {
				k := i % len(texts)
				if got := m.Tag(split(texts[k]), nil); len(got) != len(want[k]) || len(got) > 0 && got[len(got)-1] != want[k][len(got)-1] {
					t.Errorf("%q was tagged otherwise beside others", texts[k])
					return
				}
			}
		})
	}
	all.Wait()
}

func TestASoundIsOnePerHearing(t *testing.T) {
	t.Parallel()
	for _, alike := range [][]string{
		{"contactor", "kontakter", "contacktor"}, {"coil", "koil"}, {"suction", "sukshun", "suckshun"}, {"liquid", "likwid"}, {"phase", "fase"},
	} {
		for _, w := range alike[1:] {
			require.Equal(t, string(AppendSound(nil, alike[0])), string(AppendSound(nil, w)), w)
		}
	}
	require.NotEqual(t, string(AppendSound(nil, "coil")), string(AppendSound(nil, "cool")))
}

func TestTagsAndSlotsNameEachOther(t *testing.T) {
	t.Parallel()
	names := map[string]bool{}
	for s := Slot(1); s < Slots; s++ {
		require.Equal(t, s, Begin(s).Slot())
		require.Equal(t, s, Inside(s).Slot())
		require.True(t, Begin(s).Begins())
		require.False(t, Inside(s).Begins())
		names[Begin(s).String()], names[Inside(s).String()] = true, true
	}
	require.Len(t, names, Tags-1)
	require.Equal(t, Outside, Begin(Other))
	require.Equal(t, "O", Outside.String())
	require.Equal(t, []Span{{Point, 0, 2}, {Point, 2, 3}, {Value, 4, 5}}, Spans([]Tag{Begin(Point), Inside(Point), Begin(Point), Outside, Inside(Value)}))
}
