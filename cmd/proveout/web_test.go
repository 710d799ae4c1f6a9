package main

import (
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// code is the newest code to sign in with that a conversation has brought.
func (w *workspace) code(t testing.TB, conversation string) string {
	t.Helper()
	digits := regexp.MustCompile(`\b\d{6}\b`)
	for {
		posts := w.Posts(conversation)
		if n := len(posts); n > 0 {
			if code := digits.FindString(posts[n-1].Shown); code != "" {
				return code
			}
		}
		select {
		case <-t.Context().Done():
			require.NoError(t, t.Context().Err())
		case <-time.After(10 * time.Millisecond): // it is sent beside the answer
		}
	}
}

// proposed has the technician say all it takes to a call that a senior must confirm.
func (w *workspace) proposed(t testing.TB) (thread string) {
	t.Helper()
	thread = w.says(t, ana, "", "no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
	for _, text := range []string{
		"236 at the bottom of the contactor", "0 amps on common", "c to s OL", "c to r OL", "r to s 3.3", "cap is a 45/5, herm reads 44.6", "shell is cold",
	} {
		w.says(t, ana, thread, text)
	}
	return thread
}

// A dispatcher who never saw the board finds the stuck job, a senior rules on it, and
// the technician has the ruling in his chat and on his phone: two browsers, a phone and
// a chat at once.
func TestFromTheBoardToTheRuling(t *testing.T) {
	t.Parallel()
	w := openWorkspace(t)
	b := openBrowser(t, w)
	thread := w.proposed(t)
	w.ahead.Store(int64(11 * time.Minute))
	require.NoError(t, w.service.Watch(t.Context()))
	require.NoError(t, w.service.Flush(t.Context()))

	desk, senior, phone := b.tab(t, "desk", false), b.tab(t, "senior", false), b.tab(t, "phone", true)
	desk.opens("/")
	desk.judged("sign-in")
	desk.signsIn("Dee", "D"+dee)
	desk.sees(".ticket.rings", "the call has waited 11 min for a senior")
	desk.sees(".ticket", "compressor with its internal overload failed open")
	desk.sees(".ticket", "Part likely needed\ncompressor")
	desk.judged("board")
	desk.presses(".ticket h2 a")
	desk.sees("#state", "Call, waiting for a senior")
	desk.sees("#line", "Live")
	require.False(t, get[bool](desk, `!!document.querySelector("button[value=confirm]")`), "the desk rules on nothing")
	desk.judged("job")
	desk.writes("#say-J-1001", "the customer leaves at four")
	desk.presses("#act form.stack button")
	desk.sees("#talk", "the customer leaves at four")
	desk.sees("#line", "Live")

	phone.signsIn("Ana", "D"+ana)
	phone.sees("h1", "My jobs")
	phone.judged("talks")
	phone.presses(".card h2 a")
	phone.sees("#talk", "A senior confirms this before anything is changed.")
	phone.sees("#talk li.dispatcher", "the customer leaves at four")
	phone.sees("#line", "Live")
	phone.judged("talk")

	senior.signsIn("Sam", "D"+sam)
	senior.opens("/jobs/J-1001")
	senior.sees("#state", "compressor's shell is cold")
	require.True(t, get[bool](senior, `new Promise((drawn) => {
		const img = document.querySelector("#circuit img");
		const look = () => img.complete && img.naturalWidth > 0 ? drawn(img.alt.length > 0) : setTimeout(look, 50);
		img.scrollIntoView();
		look();
	})`), "the circuit is drawn")
	senior.judged("job")
	_, shown := w.fresh(room)
	require.Contains(t, shown, "Dee: the customer leaves at four", "what the desk writes on a page is in the chat")
	senior.presses("button[value=confirm]")
	senior.sees("#state", "Call, ruled on by Sam")

	desk.sees("#state", "Call, ruled on by Sam")
	desk.sees("#timeline", "Sam confirmed the call")
	desk.shot("ruled")
	phone.sees("#talk", "confirm")
	phone.shot("ruled")
	require.NoError(t, w.service.Flush(t.Context()))
	posts, shown := w.fresh(room)
	require.Contains(t, shown, "Sam confirmed it: compressor with its internal overload failed open.")
	require.Equal(t, thread, posts[len(posts)-1].Thread)

	for _, path := range []string{"/me", "/nowhere", "/knowledge", "/knowledge/faults", "/knowledge/measurements", "/knowledge/units/split-cooling"} {
		phone.opens(path)
		phone.judged(strings.ReplaceAll(strings.Trim(path, "/"), "/", "-"))
	}
}

// What is written without a signal is kept, over a reload too, and is one message once
// there is one, however often it is sent.
func TestAMessageWrittenWithoutASignalIsSentOnce(t *testing.T) {
	t.Parallel()
	w := openWorkspace(t)
	b := openBrowser(t, w)
	phone := b.tab(t, "phone", true)
	phone.signsIn("Ana", "D"+ana)
	phone.writes("#text", "no cool at 8 Alder Court. outdoor unit dead, indoor blower on")
	phone.presses("#say button.first")
	phone.presses(".card h2 a")
	phone.sees("#talk", "Is the contactor pulled in?")
	phone.sees("#line", "Live")
	require.True(t, get[bool](phone, `navigator.serviceWorker.ready.then(() => true)`))
	phone.opens("/talk/J-1001") // kept by the worker
	phone.sees("#talk", "Is the contactor pulled in?")

	b.signal(false)
	phone.writes("#text", "contactor isnt pulled in")
	phone.presses("#say button.first")
	phone.sees("li.unsent", "contactor isnt pulled in")
	phone.opens("/talk/J-1001")
	phone.sees("li.unsent", "contactor isnt pulled in")
	phone.shot("unsent")
	said := func() (n int) {
		v, err := w.service.JobView(t.Context(), "ana", "J-1001")
		require.NoError(t, err)
		for _, m := range v.Talk {
			if m.Text == "contactor isnt pulled in" {
				n++
			}
		}
		return n
	}
	require.Zero(t, said())

	kept := get[string](phone, `localStorage.getItem("unsent-ana")`)
	b.signal(true)
	phone.sees("#talk li.agent", "That rules out burnt contacts")
	require.Equal(t, 1, said())
	phone.do(chromedp.Evaluate[chromedp.Void](`localStorage.setItem("unsent-ana", ` + strconv.Quote(kept) + `)`)) // its answer was lost
	phone.opens("/talk/J-1001")
	phone.sees("#talk", "contactor isnt pulled in")
	require.Equal(t, "[]", get[string](phone, `new Promise((sent) => {
		const look = () => localStorage.getItem("unsent-ana") === "[]" ? sent("[]") : setTimeout(look, 50);
		look();
	})`))
	require.Equal(t, 1, said())
	require.Zero(t, get[int](phone, `document.querySelectorAll("li.unsent").length`))
}

// A job about the refrigerant has every figure with its unit beside its target, and its
// page can be read by everybody too.
func TestTheRefrigerantSideStandsBesideItsTargets(t *testing.T) {
	t.Parallel()
	w := openWorkspace(t)
	b := openBrowser(t, w)
	thread := w.says(t, ana, "", "everything runs but it does not cool. R-410A, TXV")
	for _, text := range []string{"outdoor 95, return 78, supply 64", "suction 95, head 280", "suction line 68, liquid line 92", "target subcooling 10"} {
		w.says(t, ana, thread, text)
	}
	desk := b.tab(t, "desk", false)
	desk.signsIn("Dee", "D"+dee)
	desk.opens("/jobs/J-1001")
	for _, text := range []string{"suction pressure", "95 psig", "saturates at ", " °F", "39 °F", "10 °F"} {
		desk.sees("#gauges", text)
	}
	desk.sees("#suspects", "low refrigerant charge")
	desk.judged("charge")
	desk.opens("/jobs/J-1001/report")
	desk.shot("report")
	desk.sees("body", "Larkmoor Heating & Air")
}
