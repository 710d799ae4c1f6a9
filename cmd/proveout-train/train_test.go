package main

import (
	"bytes"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/nlpodyssey/spago/ag"
	"github.com/nlpodyssey/spago/mat"
	"github.com/stretchr/testify/require"

	"proveout/dialog/tagger"
	"proveout/knowledge"
)

// small trains in a second.
func small() recipe {
	return recipe{seed: 1, bits: 10, epochs: 1, generated: 300, copies: 1, batch: 16, step: 0.02, decay: 0.002}
}

func loaded(t *testing.T) *knowledge.Base {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	return base
}

func fixture(t *testing.T) []sentence {
	t.Helper()
	sentences, err := readMarked("../../testdata/language/tagger/unknown-dev.jsonl")
	require.NoError(t, err)
	require.NotEmpty(t, sentences)
	return sentences
}

func trained(t *testing.T, r recipe) []byte {
	t.Helper()
	corpus, err := r.corpus(loaded(t), fixture(t))
	require.NoError(t, err)
	m, err := tagger.New(r.train(corpus, nil, nil).weights(1), "small")
	require.NoError(t, err)
	return m.Encode()
}

func TestTheSameSeedTrainsTheSameBytes(t *testing.T) {
	first := trained(t, small())
	require.True(t, bytes.Equal(first, trained(t, small())))
	other := small()
	other.seed = 2
	require.False(t, bytes.Equal(first, trained(t, other)))
}

// graph puts a model's weights into spago's network.
func graph(m *tagger.Model) *network {
	w := m.Weights()
	bits := 0
	for 1<<bits < len(w.Rows) {
		bits++
	}
	n := newNetwork(bits)
	rows, chain := data(n.Rows.Matrix), data(n.Chain.TransitionScores.Matrix)
	for i := range w.Rows {
		copy(rows[i*tagger.Tags:], w.Rows[i][:])
	}
	for a := range tagger.Tags {
		chain[a+1], chain[(a+1)*wide] = w.First[a], w.Last[a]
		copy(chain[(a+1)*wide+1:], w.Step[a][:])
	}
	return n
}

// emissions are a sentence's tag scores, added up by spago.
func (n *network) emissions(s sentence) []mat.Tensor {
	var out []mat.Tensor
	for _, rows := range tagger.Features(s.words, 1<<n.bits) {
		var picked []mat.Tensor
		for _, row := range rows {
			picked = append(picked, ag.T(ag.RowView(n.Rows, int(row))))
		}
		out = append(out, ag.Sum(picked...))
	}
	return out
}

func TestTheBinaryTagsAsTheGraphDoes(t *testing.T) {
	ag.SetForceSyncExecution(true)
	m, err := tagger.Embedded()
	require.NoError(t, err)
	n := graph(m)
	for _, s := range fixture(t) {
		want := n.Chain.Decode(n.emissions(s))
		var got []int
		for _, r := range m.Tag(s.words, nil) {
			got = append(got, int(r.Tag))
		}
		require.Equal(t, want, got, s.text)
	}
}

// wandering is a network of small weights that mean nothing.
func wandering(seed uint64) *network {
	n := newNetwork(6)
	r := rand.New(rand.NewPCG(seed, 5))
	for _, list := range [][]float32{data(n.Rows.Matrix), data(n.Chain.TransitionScores.Matrix)} {
		for i := range list {
			list[i] = (r.Float32() - 0.5) / 5
		}
	}
	return n
}

// The loss against its definition, by trying each tag in a place: the slope of the
// loss is what Backward hands on.
func TestTheLossFallsAsItsGradientSays(t *testing.T) {
	ag.SetForceSyncExecution(true)
	n := wandering(1)
	s, err := parseMarked("[P coil] is [V 24] [U v]")
	require.NoError(t, err)
	batch := []example{n.example(s), n.example(fixture(t)[0])}
	lossOf := func() float64 {
		l := batchLoss{net: n, batch: batch}
		_, err := l.Forward()
		require.NoError(t, err)
		sum, transitions := 0.0, data(n.Chain.TransitionScores.Matrix)
		for _, x := range batch {
			sum += l.sentence(x, transitions)
		}
		return sum / float64(len(batch))
	}
	require.NoError(t, ag.Backward(ag.NewOperator(&batchLoss{net: n, batch: batch}).Run()))
	for name, p := range map[string]struct {
		value, slope []float32
		at           []int
	}{
		"rows":  {data(n.Rows.Matrix), data(n.Rows.Grad().(mat.Matrix)), []int{0, 5, 77, 300, 900}},
		"chain": {data(n.Chain.TransitionScores.Matrix), data(n.Chain.TransitionScores.Grad().(mat.Matrix)), []int{1, 2, 3, 4, wide, wide + 2, 2*wide + 1, 5*wide + 1}},
	} {
		for _, i := range p.at {
			const h = 0.01
			kept := p.value[i]
			p.value[i] = kept + h
			up := lossOf()
			p.value[i] = kept - h
			down := lossOf()
			p.value[i] = kept
			require.InDelta(t, (up-down)/(2*h), p.slope[i], 2e-3, "%s %d", name, i)
		}
	}
}

// Weights large enough to overflow a plain sum of exponentials do not.
func TestTheLossStaysFinite(t *testing.T) {
	ag.SetForceSyncExecution(true)
	n := wandering(2)
	rows := data(n.Rows.Matrix)
	for i := range rows {
		rows[i] *= 400
	}
	s, err := parseMarked(strings.Repeat("[P coil] is [V 24] ", 60))
	require.NoError(t, err)
	loss := ag.NewOperator(&batchLoss{net: n, batch: []example{n.example(s)}}).Run()
	require.False(t, math.IsNaN(loss.Item().F64()) || math.IsInf(loss.Item().F64(), 0))
}

func TestMarksReadBackAsTheyWereWritten(t *testing.T) {
	t.Parallel()
	for _, s := range fixture(t) {
		again, err := parseMarked(s.mark())
		require.NoError(t, err)
		require.Equal(t, s.tags, again.tags, s.text)
	}
	for _, bad := range []string{"[P coil", "[Z coil] 24", "[P] 24", "[] 24", "[Pcoil]"} {
		_, err := parseMarked(bad)
		require.ErrorContains(t, err, "write [P words]", bad)
	}
}

// What is generated is marked by slot and never breaks a mark, altered or not.
func TestGeneratedMessagesAreMarked(t *testing.T) {
	t.Parallel()
	corpus, err := small().corpus(loaded(t), nil)
	require.NoError(t, err)
	seen := map[tagger.Slot]int{}
	for _, s := range corpus {
		require.Len(t, s.tags, len(s.words))
		for _, span := range tagger.Spans(s.tags) {
			seen[span.Slot]++
		}
		require.NotContains(t, s.text, "{")
	}
	for slot := tagger.Slot(1); slot < tagger.Slots; slot++ {
		require.Positive(t, seen[slot], "no generated message holds a %s", slot)
	}
}

func TestTheCommandSaysWhatItCannotRead(t *testing.T) {
	t.Parallel()
	for args, says := range map[string]string{
		"--messages /nowhere":       "name their folder with --messages",
		"--epochs none":             "invalid argument",
		"surplus":                   "unknown command",
		"--bits 40 --generated 300": "at most 17",
	} {
		cmd := newCommand(io.Discard)
		cmd.SetErr(io.Discard)
		cmd.SetArgs(append(strings.Fields(args), "--out", t.TempDir()+"/w"))
		require.ErrorContains(t, cmd.Execute(), says, args)
	}
}
