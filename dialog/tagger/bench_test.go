package tagger

import (
	"slices"
	"testing"
	"time"
)

// BenchmarkTag reports the middle and the slowest hundredth of a message.
func BenchmarkTag(b *testing.B) {
	m := embeddedModel(b)
	var messages [][]Word
	for _, text := range []string{
		"kontakter koyl is gettin 24", "24", "sukshun 118 hed 405 , return 75 and supply 57", "suite 118 , gate code 4410",
		"with the stat calling i get 26 at the yellow outside , 26 after the low presure swtch and nothing at the coyl , what's next ?",
	} {
		messages = append(messages, split(text))
	}
	var out []Result
	took := make([]float64, 0, 1<<16)
	b.ReportAllocs()
	for b.Loop() {
		for _, words := range messages {
			start := time.Now()
			out = m.Tag(words, out[:0])
			took = append(took, float64(time.Since(start).Nanoseconds())/1000)
		}
	}
	slices.Sort(took)
	b.ReportMetric(took[len(took)/2], "µs-median")
	b.ReportMetric(took[len(took)*99/100], "µs-p99")
}
