package tagger

import (
	"fmt"
	"math"
	"slices"
	"sync"
)

// Model is a trained tagger. It is never changed once made and safe for
// concurrent use.
type Model struct {
	// Digest is that of the lexicon the weights were trained with.
	Digest string

	rows    []int8 // row after row, Tags weights each
	mask    uint32 // rows - 1; the number of rows is a power of two
	scale   float32
	first   [Tags]float32
	last    [Tags]float32
	step    [Tags][Tags]float32 // from, to
	exp     [Tags][Tags]float64 // exp of step
	scratch sync.Pool
}

// Weights are what training finds: a row of tag scores for every feature and
// the scores of tags in a row. They are certain as trained: divide them by a
// temperature to calibrate.
type Weights struct {
	Rows  [][Tags]float32 // a power of two of them
	First [Tags]float32   // of the first word
	Last  [Tags]float32   // of the last word
	Step  [Tags][Tags]float32
}

// never is the score of a step that may not be: no sum of scores outweighs it.
const never = -1e30

// New packs weights into a model for the lexicon of the given digest, each weight
// in eight bits. Rows must be a power of two in number, at most 2^17.
func New(w *Weights, digest string) (*Model, error) {
	n := len(w.Rows)
	if n == 0 || n&(n-1) != 0 || n > 1<<maxRowBits {
		return nil, fmt.Errorf("packing the tagger: %d rows; make it a power of two up to %d", n, 1<<maxRowBits)
	}
	peak := float32(0)
	for i := range w.Rows {
		for _, x := range w.Rows[i] {
			peak = max(peak, float32(math.Abs(float64(x))))
		}
	}
	m := &Model{Digest: digest, rows: make([]int8, n*Tags), mask: uint32(n - 1), scale: peak / 127, first: w.First, last: w.Last, step: w.Step}
	if peak == 0 {
		m.scale = 1
	}
	for i := range w.Rows {
		for t, x := range w.Rows[i] {
			m.rows[i*Tags+t] = int8(math.RoundToEven(float64(x / m.scale)))
		}
	}
	if err := m.finite(); err != nil {
		return nil, err
	}
	m.prepare()
	return m, nil
}

// finite refuses scores nobody can add up.
func (m *Model) finite() error {
	all := slices.Concat(m.first[:], m.last[:], []float32{m.scale})
	for i := range m.step {
		all = append(all, m.step[i][:]...)
	}
	for _, x := range all {
		if x != never && (math.IsNaN(float64(x)) || math.Abs(float64(x)) > 1e6) {
			return fmt.Errorf("packing the tagger: a score is %v; train again with smaller steps", x)
		}
	}
	return nil
}

// prepare forbids tags that cannot follow one another.
func (m *Model) prepare() {
	for a := range Tag(Tags) {
		if !follows(Outside, a) {
			m.first[a] = never
		}
		for b := range Tag(Tags) {
			if !follows(a, b) {
				m.step[a][b] = never
			}
			m.exp[a][b] = math.Exp(float64(m.step[a][b]))
		}
	}
	m.scratch.New = func() any { return new(scratch) }
}

// Weights unpacks the model.
func (m *Model) Weights() *Weights {
	w := &Weights{Rows: make([][Tags]float32, int(m.mask)+1), First: m.first, Last: m.last, Step: m.step}
	for i := range w.Rows {
		for t := range Tags {
			w.Rows[i][t] = float32(m.rows[i*Tags+t]) * m.scale
		}
	}
	return w
}

// Features lists the weight rows every word uses in a table of the given size, a
// power of two. Training and answering share it.
func Features(words []Word, rows int) [][]uint32 {
	var r reader
	r.start(words, uint32(rows-1))
	out := make([][]uint32, len(words))
	for i := range words {
		out[i] = slices.Clone(r.features(words, i))
	}
	return out
}

// Result is what the tagger says of one word.
type Result struct {
	Tag Tag
	// Certain is the probability of the tag's slot, 0 to 1.
	Certain float32
	// Aside is the probability that the word is a number but no reading.
	Aside float32
}

// Tag tags words, appending one result a word to out.
func (m *Model) Tag(words []Word, out []Result) []Result {
	if len(words) == 0 {
		return out
	}
	s := m.scratch.Get().(*scratch)
	defer m.scratch.Put(s)
	s.size(len(words))
	m.emit(s, words)
	m.likeliest(s)
	m.marginals(s)
	for i := range words {
		p := &s.margin[i]
		slot := s.tags[i].Slot()
		out = append(out, Result{s.tags[i], slotMass(p, slot), slotMass(p, Distractor)})
	}
	return out
}

func slotMass(p *[Tags]float64, s Slot) float32 {
	if s == Other {
		return float32(p[Outside])
	}
	return float32(p[Begin(s)] + p[Inside(s)])
}
