package main

import (
	"bufio"
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/slack"
	"proveout/bot"
)

// viewers is how many follow one job in the benchmark.
const viewers = 500

// signedIn is a client that somebody has signed in with, as his browser does.
func (w *workspace) signedIn(tb testing.TB, at, name, conversation string) *http.Client {
	tb.Helper()
	jar, err := cookiejar.New(nil)
	require.NoError(tb, err)
	client := &http.Client{Jar: jar}
	for _, step := range []func() (string, url.Values){
		func() (string, url.Values) { return "/sign-in", url.Values{"who": {name}} },
		func() (string, url.Values) { return "/sign-in/code", url.Values{"code": {w.code(tb, conversation)}} },
	} {
		path, form := step()
		r, err := http.NewRequestWithContext(tb.Context(), http.MethodPost, at+path, strings.NewReader(form.Encode()))
		require.NoError(tb, err)
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		answer, err := client.Do(r)
		require.NoError(tb, err)
		require.Equal(tb, http.StatusOK, answer.StatusCode)
		require.NoError(tb, answer.Body.Close())
	}
	return client
}

// follow reads a page's events until the context ends, and hands over when each came
// and how long it was.
func follow(tb testing.TB, client *http.Client, address string, each func(came time.Time, size int)) {
	r, err := http.NewRequestWithContext(tb.Context(), http.MethodGet, address, nil)
	if err != nil {
		tb.Error(err)
		return
	}
	answer, err := client.Do(r)
	if err != nil {
		tb.Error(err)
		return
	}
	defer func() { _ = answer.Body.Close() }()
	lines := bufio.NewScanner(answer.Body)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "data: ") {
			each(time.Now(), len(lines.Bytes()))
		}
	}
}

// cpu is what this process has used of the processors so far.
func cpu(tb testing.TB) time.Duration {
	tb.Helper()
	var used syscall.Rusage
	require.NoError(tb, syscall.Getrusage(syscall.RUSAGE_SELF, &used))
	return time.Duration(used.Utime.Nano() + used.Stime.Nano())
}

// BenchmarkViewers has 500 people follow one job while its technician writes: from his
// message to the last of them having what it changed. The viewers are in the same
// process, so what they take of the processors is counted too.
func BenchmarkViewers(b *testing.B) {
	w := openWorkspace(b)
	server := httptest.NewServer(w.pages)
	b.Cleanup(func() {
		server.CloseClientConnections()
		server.Close()
	})
	thread := w.says(b, ana, "", "no cooling at 12 Fenwick. outdoor unit dead, blower runs")
	client := w.signedIn(b, server.URL, "Dee", "D"+dee)
	client.Transport = &http.Transport{MaxIdleConnsPerHost: viewers}
	var had sync.WaitGroup
	var mu sync.Mutex
	var came []time.Time
	size := 0
	had.Add(viewers)
	for range viewers {
		go follow(b, client, server.URL+"/jobs/J-1001/live", func(at time.Time, n int) {
			mu.Lock()
			came, size = append(came, at), n
			mu.Unlock()
			had.Done()
		})
	}
	had.Wait()
	var late []time.Duration
	var used time.Duration
	for n := 0; b.Loop(); n++ {
		had.Add(viewers)
		mu.Lock()
		came = came[:0]
		mu.Unlock()
		before, began := cpu(b), time.Now()
		require.NoError(b, w.service.Receive(b.Context(), bot.Inbound{
			Channel: slack.Channel, ID: fmt.Sprint("v", n), Conversation: room, Thread: room + "/" + thread, From: ana, Kind: bot.Said, Text: fmt.Sprintf("%d at the yellow outside", 20+n%9),
		}))
		had.Wait()
		used += cpu(b) - before
		for _, at := range came {
			late = append(late, at.Sub(began))
		}
	}
	slices.Sort(late)
	at := func(q float64) float64 { return float64(late[int(q*float64(len(late)-1))].Microseconds()) / 1000 }
	b.ReportMetric(at(0.5), "ms-update-p50")
	b.ReportMetric(at(0.99), "ms-update-p99")
	b.ReportMetric(at(1), "ms-update-most")
	b.ReportMetric(float64(used.Microseconds())/1000/float64(b.N), "cpu-ms/update")
	b.ReportMetric(float64(size), "bytes/event")
}

// BenchmarkPages is from asking for a page to its being usable, drawn and ready to be
// pressed, on a slow phone network: by who was never here, and by who has the style.
func BenchmarkPages(b *testing.B) {
	w := openWorkspace(b)
	browser := openBrowser(b, w)
	w.proposed(b)
	desk := browser.tab(b, "desk", true)
	desk.signsIn("Dee", "D"+dee)
	for name, p := range map[string]profile{"lighthouse": lighthouseSlow4G, "devtools": devtoolsSlow4G} {
		for _, path := range []string{"/board", "/jobs/J-1001"} {
			for visit, warm := range map[string]bool{"first": false, "later": true} {
				b.Run(name+path+"/"+visit, func(b *testing.B) {
					var took []float64
					for b.Loop() {
						desk.throttled(p, warm)
						desk.opens(path)
						took = append(took, get[float64](desk, `new Promise((done) => {
							const look = () => {
								const paint = performance.getEntriesByName("first-contentful-paint")[0];
								const ready = performance.getEntriesByType("navigation")[0].domInteractive;
								paint ? done(Math.max(paint.startTime, ready)) : setTimeout(look, 20);
							};
							look();
						})`))
					}
					slices.Sort(took)
					b.ReportMetric(took[len(took)/2], "ms-usable")
					b.ReportMetric(get[float64](desk, `performance.getEntriesByType("navigation")[0].transferSize`), "bytes-page")
				})
			}
		}
	}
}
