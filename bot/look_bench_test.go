package bot_test

import (
	"context"
	"fmt"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

// viewers look at one job at once.
const viewers = 500

// BenchmarkViewers is one more reading on a job that 500 look at: from the message in
// the record to the last viewer having his view. The bar is 250 ms for that, and a core
// for all of them together.
func BenchmarkViewers(b *testing.B) {
	s := openMany(b, filepath.Join(b.TempDir(), "record.db"))
	stop := runMany(b, s)
	say := func(n int, text string) {
		require.NoError(b, s.Receive(b.Context(), bot.Inbound{
			Channel: channel, ID: fmt.Sprint("v", n), Conversation: room, Thread: "looked-at", From: "T0", Kind: bot.Said, Text: text,
		}))
	}
	for i, text := range []string{
		"no cooling at 12 Fenwick. outdoor unit dead, blower runs", "contactor isnt pulled in", "27 at the yellow outside",
		"oil stain? none that i can see", "why", "what's left", "26 at the yellow", "how",
	} {
		say(i, text)
	}
	ctx, leave := context.WithCancel(b.Context())
	var looking, shown sync.WaitGroup
	for range viewers {
		changed, err := s.Changes(ctx, "t0", "J-1001")
		require.NoError(b, err)
		looking.Go(func() {
			seen := int64(0)
			for {
				select {
				case <-ctx.Done():
					return
				case <-changed:
				}
				v, err := s.JobView(ctx, "t0", "J-1001")
				if err != nil {
					return
				}
				if last := v.Talk[len(v.Talk)-1].Seq; last > seen {
					seen = last
					shown.Done()
				}
			}
		})
	}
	var first, all []time.Duration
	for n := 0; b.Loop(); n++ {
		shown.Add(viewers)
		say(100+n, fmt.Sprintf("%d at the yellow outside", 24+n%4))
		began := time.Now()
		_, err := s.JobView(b.Context(), "t0", "J-1001")
		first = append(first, time.Since(began))
		require.NoError(b, err)
		shown.Wait()
		all = append(all, time.Since(began))
	}
	leave()
	looking.Wait()
	stop()
	b.ReportMetric(at(first, 0.5), "ms-view-p50")
	b.ReportMetric(at(first, 0.99), "ms-view-p99")
	b.ReportMetric(at(all, 0.5), "ms-all-p50")
	b.ReportMetric(at(all, 0.99), "ms-all-p99")
}
