package main

import (
	"fmt"
	"io"
	"slices"

	"proveout/dialog/tagger"
)

// tally counts runs found right, missed and found without being there.
type tally struct{ right, missed, extra int }

func (t tally) f1() float64 {
	if t.right == 0 {
		return 0
	}
	return 2 * float64(t.right) / float64(2*t.right+t.missed+t.extra)
}

// marks is how well a model marks sentences.
type marks struct {
	slots           [tagger.Slots]tally
	words, wordsHit int
	exact, messages int
	// certainty in ten bins: words, and those tagged right.
	bins [10][2]float64
	// figures that are readings and that are none, and how certain the model was
	// that each is none.
	readings, asides []float64
}

func (k *marks) all() tally {
	var sum tally
	for _, t := range k.slots {
		sum.right, sum.missed, sum.extra = sum.right+t.right, sum.missed+t.missed, sum.extra+t.extra
	}
	return sum
}

// measure compares a model's marks with the true ones.
func measure(m *tagger.Model, sentences []sentence) *marks {
	k := new(marks)
	for _, s := range sentences {
		results := m.Tag(s.words, nil)
		tags := make([]tagger.Tag, len(results))
		for i, r := range results {
			tags[i] = r.Tag
			hit := r.Tag.Slot() == s.tags[i].Slot()
			bin := &k.bins[min(int(r.Certain*10), 9)]
			bin[0]++
			k.words++
			if s.words[i].Kind == tagger.Figure {
				switch s.tags[i].Slot() {
				case tagger.Value:
					k.readings = append(k.readings, float64(r.Aside))
				case tagger.Distractor:
					k.asides = append(k.asides, float64(r.Aside))
				default:
				}
			}
			if hit {
				bin[1]++
				k.wordsHit++
			}
		}
		want, got := tagger.Spans(s.tags), tagger.Spans(tags)
		k.messages++
		if slices.Equal(want, got) {
			k.exact++
		}
		for _, w := range want {
			if slices.Contains(got, w) {
				k.slots[w.Slot].right++
			} else {
				k.slots[w.Slot].missed++
			}
		}
		for _, g := range got {
			if !slices.Contains(want, g) {
				k.slots[g.Slot].extra++
			}
		}
	}
	return k
}

// print writes the marks as a table.
func (k *marks) print(w io.Writer, name string) {
	fmt.Fprintf(w, "%s: %d messages, %d marked whole; words right %.1f %%; runs F1 %.1f\n",
		name, k.messages, k.exact, 100*float64(k.wordsHit)/float64(max(k.words, 1)), 100*k.all().f1())
	for s := range k.slots {
		if t := k.slots[s]; t.right+t.missed+t.extra > 0 {
			fmt.Fprintf(w, "  %-11s F1 %5.1f  (right %d, missed %d, extra %d)\n", tagger.Slot(s), 100*t.f1(), t.right, t.missed, t.extra)
		}
	}
	for _, bar := range []float64{0.5, 0.6, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95} {
		fmt.Fprintf(w, "  figures set aside at %.2f: %d of %d that are none, %d of %d readings\n", bar, over(k.asides, bar), len(k.asides), over(k.readings, bar), len(k.readings))
	}
	for i, b := range k.bins {
		if b[0] > 0 {
			fmt.Fprintf(w, "  certain %.1f–%.1f: %4.0f words, %.1f %% right\n", float64(i)/10, float64(i+1)/10, b[0], 100*b[1]/b[0])
		}
	}
}

func over(ps []float64, bar float64) int {
	n := 0
	for _, p := range ps {
		if p >= bar {
			n++
		}
	}
	return n
}
