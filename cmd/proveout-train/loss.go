package main

import (
	"math"

	"github.com/nlpodyssey/spago/mat"
	"github.com/nlpodyssey/spago/mat/float"
	"github.com/nlpodyssey/spago/nn"
	"github.com/nlpodyssey/spago/nn/crf"

	"proveout/dialog/tagger"
)

// network is the model as spago sees it: a table of feature rows whose sums are
// a word's tag scores, and spago's conditional random field over them.
type network struct {
	nn.Module
	Rows  *nn.Param
	Chain *crf.Model
	bits  int
}

func newNetwork(bits int) *network {
	return &network{
		Rows:  nn.NewParam(mat.NewDense[float32](mat.WithShape(1<<bits, tagger.Tags))),
		Chain: crf.New[float32](tagger.Tags),
		bits:  bits,
	}
}

// data is the numbers of a parameter, not a copy.
func data(p mat.Matrix) []float32 { return float.SliceValueOf[float32](p.Data()) }

// wide is the side of the table of transitions: the tags, and the edge of a
// message at 0.
const wide = tagger.Tags + 1

// example is a sentence ready to learn from.
type example struct {
	rows [][]uint32 // feature rows of every word
	tags []tagger.Tag
}

func (n *network) example(s sentence) example {
	return example{tagger.Features(s.words, 1<<n.bits), s.tags}
}

// batchLoss is one operator for a whole batch: the mean of -log p(tags | words) by
// forward-backward. spago's own loss has no log-sum-exp shift and overflows, and a
// graph of many nodes adds gradients in varying order; here the order is fixed, so
// the same seed trains the same bits.
type batchLoss struct {
	net      *network
	batch    []example
	rows     *mat.Dense[float32] // gradients
	chain    *mat.Dense[float32]
	factors  [wide][wide]float64 // exp of the transitions
	allowed  [wide][wide]bool
	forwards [][tagger.Tags]float64
	scores   [][tagger.Tags]float64
	levels   []float64
}

// Operands are the two parameter tables.
func (l *batchLoss) Operands() []mat.Tensor {
	return []mat.Tensor{l.net.Rows, l.net.Chain.TransitionScores}
}

// Forward computes the loss and, since forward-backward gives both at once, the
// gradients.
func (l *batchLoss) Forward() (mat.Tensor, error) {
	l.rows = mat.NewDense[float32](mat.WithShape(1<<l.net.bits, tagger.Tags))
	l.chain = mat.NewDense[float32](mat.WithShape(wide, wide))
	transitions := data(l.net.Chain.TransitionScores.Matrix)
	for a := range wide {
		for b := range wide {
			l.allowed[a][b] = mayFollow(a, b)
			if l.allowed[a][b] {
				l.factors[a][b] = math.Exp(float64(transitions[a*wide+b]))
			}
		}
	}
	loss := 0.0
	for _, x := range l.batch {
		loss += l.sentence(x, transitions)
	}
	return mat.Scalar(float32(loss / float64(len(l.batch)))), nil
}

// mayFollow tells whether tag b-1 may follow tag a-1, 0 being the edge.
func mayFollow(a, b int) bool {
	if b == 0 || tagger.Tag(b-1) == tagger.Outside || tagger.Tag(b-1).Begins() {
		return true
	}
	return a > 0 && tagger.Tag(a-1).Slot() == tagger.Tag(b-1).Slot()
}

// Backward hands on the gradients times the gradient of the loss.
func (l *batchLoss) Backward(gy mat.Tensor) error {
	scale := gy.Item().F64() / float64(len(l.batch))
	l.rows.ProdScalarInPlace(scale)
	l.chain.ProdScalarInPlace(scale)
	l.net.Rows.AccGrad(l.rows)
	l.net.Chain.TransitionScores.AccGrad(l.chain)
	return nil
}

// sentence adds one sentence's gradients and gives its loss.
func (l *batchLoss) sentence(x example, transitions []float32) float64 {
	n := len(x.tags)
	if n == 0 {
		return 0
	}
	for len(l.scores) < n {
		l.scores, l.forwards, l.levels = append(l.scores, [tagger.Tags]float64{}), append(l.forwards, [tagger.Tags]float64{}), append(l.levels, 0)
	}
	gold, logZ := 0.0, l.ahead(x)
	prev := 0
	for i, t := range x.tags {
		gold += l.scores[i][t] + float64(transitions[prev*wide+int(t)+1])
		prev = int(t) + 1
	}
	gold += float64(transitions[prev*wide])
	l.behind(x)
	return logZ - gold
}

// ahead fills scores and forward sums, each word's scaled to 1, and gives log Z.
func (l *batchLoss) ahead(x example) float64 {
	weights := data(l.net.Rows.Matrix)
	logZ := 0.0
	for i := range x.tags {
		var sum [tagger.Tags]float64
		for _, row := range x.rows[i] {
			w := weights[int(row)*tagger.Tags:][:tagger.Tags]
			for t := range sum {
				sum[t] += float64(w[t])
			}
		}
		l.scores[i] = sum
		top := sum[0]
		for _, s := range sum[1:] {
			top = max(top, s)
		}
		var f [tagger.Tags]float64
		if i == 0 {
			copy(f[:], l.factors[0][1:])
		} else {
			for a, y := range l.forwards[i-1] {
				for t := range f {
					f[t] += y * l.factors[a+1][t+1]
				}
			}
		}
		for t := range f {
			f[t] *= math.Exp(sum[t] - top)
		}
		level := 0.0
		for _, y := range f {
			level += y
		}
		for t := range f {
			f[t] /= level
		}
		l.forwards[i] = f
		logZ += math.Log(level) + top
	}
	end := 0.0
	for a, y := range l.forwards[len(x.tags)-1] {
		end += y * l.factors[a+1][0]
	}
	return logZ + math.Log(end)
}

// behind walks back over a sentence and adds expected less true counts to the
// gradients.
func (l *batchLoss) behind(x example) {
	rows, chain := data(l.rows), data(l.chain)
	n := len(x.tags)
	var back [tagger.Tags]float64
	for t := range back {
		back[t] = l.factors[t+1][0]
	}
	for i := n - 1; i >= 0; i-- {
		var p [tagger.Tags]float64
		sum := 0.0
		for t := range p {
			p[t] = l.forwards[i][t] * back[t]
			sum += p[t]
		}
		for t := range p {
			p[t] /= sum
		}
		if i == n-1 {
			for t := range p {
				chain[(t+1)*wide] += float32(p[t])
			}
			chain[(int(x.tags[i])+1)*wide]--
		}
		l.pairs(chain, x, i, &back)
		p[x.tags[i]]--
		for _, row := range x.rows[i] {
			g := rows[int(row)*tagger.Tags:][:tagger.Tags]
			for t := range p {
				g[t] += float32(p[t])
			}
		}
		l.stepBack(i, &back)
	}
}

// pairs adds the expected and true transitions into word i.
func (l *batchLoss) pairs(chain []float32, x example, i int, back *[tagger.Tags]float64) {
	top := peak(&l.scores[i])
	var here [tagger.Tags]float64
	for t := range here {
		here[t] = math.Exp(l.scores[i][t]-top) * back[t]
	}
	var before [wide]float64
	from := 0
	if i == 0 {
		before[0] = 1
	} else {
		copy(before[1:], l.forwards[i-1][:])
		from = int(x.tags[i-1]) + 1
	}
	sum := 0.0
	for a, y := range before {
		for t, z := range here {
			sum += y * l.factors[a][t+1] * z
		}
	}
	for a, y := range before {
		if y == 0 {
			continue
		}
		for t, z := range here {
			if l.allowed[a][t+1] {
				chain[a*wide+t+1] += float32(y * l.factors[a][t+1] * z / sum)
			}
		}
	}
	chain[from*wide+int(x.tags[i])+1]--
}

// stepBack moves the backward sums from word i to the word before, scaled to 1.
func (l *batchLoss) stepBack(i int, back *[tagger.Tags]float64) {
	if i == 0 {
		return
	}
	top := peak(&l.scores[i])
	for t := range back {
		back[t] *= math.Exp(l.scores[i][t] - top)
	}
	var before [tagger.Tags]float64
	sum := 0.0
	for a := range before {
		for t, y := range back {
			before[a] += l.factors[a+1][t+1] * y
		}
		sum += before[a]
	}
	for a := range before {
		back[a] = before[a] / sum
	}
}

func peak(s *[tagger.Tags]float64) float64 {
	top := s[0]
	for _, x := range s[1:] {
		top = max(top, x)
	}
	return top
}
