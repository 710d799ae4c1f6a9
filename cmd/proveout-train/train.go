package main

import (
	"fmt"
	"io"
	"math"
	"math/rand/v2"

	"github.com/nlpodyssey/spago/ag"
	"github.com/nlpodyssey/spago/nn"
	"github.com/nlpodyssey/spago/optimizers/adam"

	"proveout/dialog/tagger"
	"proveout/knowledge"
)

// recipe is everything that decides the weights, but for lexicon and messages.
type recipe struct {
	seed      uint64
	bits      int // rows of the feature table, as a power of two
	epochs    int
	generated int // messages generated
	copies    int // altered copies of each labelled message
	batch     int
	step      float64 // of the optimizer at the start; it falls to nothing
	decay     float64 // of the weights
}

// corpus gathers what is learned from: generated messages, and the labelled ones
// with altered copies.
func (r recipe) corpus(base *knowledge.Base, labelled []sentence) ([]sentence, error) {
	g, err := newGenerator(base, r.seed)
	if err != nil {
		return nil, err
	}
	var out []sentence
	for range r.generated {
		s, err := parseMarked(g.message())
		if err != nil {
			return nil, fmt.Errorf("generating messages: %w; mend shapes.txt", err)
		}
		if g.chance(70) {
			s = corrupt(g.rng, s, corruption{slotTypo: 38, slotMadeUp: 12, otherTypo: 4, other: 5})
		}
		out = append(out, s)
	}
	for _, s := range labelled {
		out = append(out, s)
		for range r.copies {
			out = append(out, corrupt(g.rng, s, corruption{slotTypo: 45, slotMadeUp: 15, otherTypo: 5, other: 8}))
		}
	}
	return out, nil
}

// train fits a network; progress, when given, hears of every epoch.
func (r recipe) train(corpus []sentence, progress io.Writer, after func(epoch int, n *network)) *network {
	ag.SetForceSyncExecution(true)
	n := newNetwork(r.bits)
	var examples []example
	for _, s := range corpus {
		if len(s.words) > 0 {
			examples = append(examples, n.example(s))
		}
	}
	order := rand.New(rand.NewPCG(r.seed, 2))
	steps := r.epochs * ((len(examples) + r.batch - 1) / r.batch)
	opt := adam.New(adam.NewAdamWConfig(r.step, 0.9, 0.999, 1e-8, r.decay))
	done := 0
	for epoch := range r.epochs {
		order.Shuffle(len(examples), func(i, j int) { examples[i], examples[j] = examples[j], examples[i] })
		total := 0.0
		for at := 0; at < len(examples); at += r.batch {
			batch := examples[at:min(at+r.batch, len(examples))]
			loss := ag.NewOperator(&batchLoss{net: n, batch: batch}).Run()
			total += loss.Item().F64() * float64(len(batch))
			if err := ag.Backward(loss); err != nil {
				panic(err) // a scalar always has a gradient
			}
			opt.StepSize = r.step * (1 - float64(done)/float64(steps))
			opt.IncExample()
			// spago's Optimize returns before its goroutines are done.
			for _, p := range []*nn.Param{n.Rows, n.Chain.TransitionScores} {
				if err := opt.OptimizeParams(p); err != nil {
					panic(err) // the state is always Adam's own
				}
			}
			done++
		}
		if progress != nil {
			fmt.Fprintf(progress, "epoch %d: loss %.4f a message\n", epoch+1, total/float64(len(examples)))
		}
		if after != nil {
			after(epoch+1, n)
		}
	}
	return n
}

// weights reads the network's numbers, divided by a temperature.
func (n *network) weights(temperature float64) *tagger.Weights {
	w := &tagger.Weights{Rows: make([][tagger.Tags]float32, 1<<n.bits)}
	cool := float32(1 / temperature)
	rows, chain := data(n.Rows.Matrix), data(n.Chain.TransitionScores.Matrix)
	for i := range w.Rows {
		for t := range tagger.Tags {
			w.Rows[i][t] = rows[i*tagger.Tags+t] * cool
		}
	}
	for a := range tagger.Tags {
		w.First[a], w.Last[a] = chain[a+1]*cool, chain[(a+1)*wide]*cool
		for b := range tagger.Tags {
			w.Step[a][b] = chain[(a+1)*wide+b+1] * cool
		}
	}
	return w
}

// calibrate finds the temperature at which the model is as certain as it is right
// on sentences it has not seen: the likeliest of their true slots, word by word.
func (n *network) calibrate(unseen []sentence) (float64, error) {
	best, bestLoss := 1.0, math.Inf(1)
	for t := 0.6; t < 4; t *= 1.1 {
		m, err := tagger.New(n.weights(t), "")
		if err != nil {
			return 0, err
		}
		loss := 0.0
		for _, s := range unseen {
			for i, r := range m.Tag(s.words, nil) {
				p := float64(r.Certain)
				if r.Tag.Slot() != s.tags[i].Slot() {
					p = 1 - p
				}
				loss -= math.Log(max(p, 1e-6))
			}
		}
		if loss < bestLoss {
			best, bestLoss = t, loss
		}
	}
	return best, nil
}
