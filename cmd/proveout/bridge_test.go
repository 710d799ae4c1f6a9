package main

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/slack"
	"proveout/bot"
)

// anaPhone is the number the technician texts from, all she is known by.
const anaPhone = "+13035550123"

// line is a text channel without a network: what is sent stands on the phone at once.
type line struct {
	mu    sync.Mutex
	shows []string
	seen  int
	n     int
	shop  *workspace
}

func (l *line) Send(_ context.Context, m bot.Outbound) (string, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.shows = append(l.shows, m.Text)
	return fmt.Sprint("out-", len(l.shows)), nil
}

func (l *line) Text(t *testing.T, text string) string {
	t.Helper()
	l.n++
	in := bot.Inbound{
		Channel: bot.Texts, ID: fmt.Sprint("in-", l.n), Conversation: anaPhone, From: anaPhone, Kind: bot.Said, Text: text,
		At: time.Now().Add(time.Duration(l.shop.ahead.Load())),
	}
	for range 2 { // what is delivered again changes nothing
		require.NoError(t, l.shop.service.Receive(t.Context(), in))
	}
	return l.Shows(t)
}

func (l *line) Shows(t *testing.T) string {
	t.Helper()
	require.NoError(t, l.shop.service.Flush(t.Context()))
	l.mu.Lock()
	defer l.mu.Unlock()
	text := strings.Join(l.shows[l.seen:], "\n")
	l.seen = len(l.shows)
	return text
}

// byText has the technician known by her number alone.
func byText(c *bot.Config) {
	delete(c.People["ana"].Identities, slack.Channel)
	c.People["ana"].Identities[bot.Texts] = anaPhone
	c.Channels[bot.Texts] = bot.Channel{Settings: map[string]string{"bridge": slack.Channel}}
}

// A whole job across the bridge: the technician on a phone, the senior in the thread of
// the shop's room, the dispatcher looking on, from the first text to the report.
func TestAWholeJobByTextWithTheSeniorInSlack(t *testing.T) {
	t.Parallel()
	ana := &line{}
	w := openShop(t, byText, func(w *workspace) func(context.Context) error {
		require.NoError(t, w.service.Register(bot.Texts, ana))
		return func(ctx context.Context) error { <-ctx.Done(); return nil }
	})
	ana.shop = w
	require.Contains(t, ana.Text(t, "no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running"), "Next: ")
	posts, shown := w.fresh(room)
	require.Empty(t, posts[0].Thread)
	require.Contains(t, posts[0].Shown, "J-1001, Ana: no cooling at 12 Fenwick.")
	thread := posts[0].TS
	require.Contains(t, shown, "Read as: ")

	readings := []string{"236 at the bottom of the contactor", "0 amps on common", "c to s OL", "c to r OL", "r to s 3.3", "cap is a 45/5, herm reads 44.6", "shell is cold"}
	for _, text := range readings {
		require.NotEmpty(t, ana.Text(t, text))
	}
	posts, shown = w.fresh(room)
	for _, text := range readings {
		require.Contains(t, shown, "Ana: "+text)
	}
	cards := 0
	for _, p := range posts {
		require.Equal(t, thread, p.Thread, "all of the job stands in its thread: %s", p.Shown)
		if len(p.Buttons) > 0 {
			cards++
			require.Equal(t, []string{"Confirm", "Overrule", "One more reading", "Take over"}, p.Buttons)
		}
	}
	require.Equal(t, 1, cards)

	w.happens(t, w.Command(room, dee, "/proveout", "status"))
	_, shown = w.fresh(room)
	require.Contains(t, shown, "1 open\nJ-1001 Ana, proposed")
	require.NotContains(t, shown, "555")
	w.ahead.Store(int64(11 * time.Minute))
	require.NoError(t, w.service.Watch(t.Context()))
	require.NoError(t, w.service.Flush(t.Context()))
	posts, shown = w.fresh(room)
	require.Contains(t, shown, "ALARM J-1001: the call has waited 11 min for a senior")
	require.Equal(t, thread, posts[0].Thread)
	require.NotContains(t, ana.Shows(t), "ALARM")
	w.ahead.Store(0)

	w.says(t, sam, thread, "why")
	require.Empty(t, ana.Shows(t), "what he asks the agent is between them")
	w.says(t, sam, thread, "Ana, was the disconnect pulled when you ohmed it?")
	require.Contains(t, ana.Shows(t), "Sam: Ana, was the disconnect pulled")

	w.says(t, sam, thread, "override, it is an open wire at the contactor coil")
	got := ana.Shows(t)
	require.Contains(t, got, "Sam names it: open wire at the contactor coil")
	require.Contains(t, got, "Repair: ")
	require.Contains(t, ana.Text(t, "fixed the wire, done"), "Now prove it well")
	for _, text := range []string{
		"coil reads 26", "comp running", "fan is spinning", "return 75, supply 56", "suction 118, head 300", "12 amps on common", "filter is clean", "yes", "pulled in",
	} {
		if got = ana.Text(t, text); len(w.service.OpenJobs(slack.Channel, dee)) == 0 {
			break
		}
	}
	require.Contains(t, got, "Job closed, repaired and proven well: open wire at the contactor coil.")
	_, shown = w.fresh(room)
	require.Contains(t, shown, "Job closed, repaired and proven well")
	require.Contains(t, ana.Text(t, "more"), "Job closed")

	page := w.report(t, "J-1001")
	for _, text := range []string{"12 Fenwick", "open wire at the contactor coil", "Sam", "overruled", "fixed the wire, done", "Job closed"} {
		require.Contains(t, page, text)
	}
	require.NotContains(t, page, "555")
	require.Empty(t, w.service.Undelivered())
}
