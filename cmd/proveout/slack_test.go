package main

import (
	"context"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/require"

	"proveout/adapters/slack"
	"proveout/adapters/slack/slacktest"
	"proveout/adapters/web"
	"proveout/bot"
	"proveout/bot/report"
	"proveout/bot/sqlite"
	"proveout/knowledge"
)

// The room and the people of the test.
const (
	room = "C0SHOP"
	ana  = "U0ANA" // a technician
	sam  = "U0SAM" // the senior
	dee  = "U0DEE" // the dispatcher
)

// workspace is a shop served in a fake Slack and in pages, with a clock that can be put
// forward.
type workspace struct {
	*slacktest.Server
	pages   *web.Adapter
	service *bot.Service
	base    *knowledge.Base
	config  bot.Config
	store   *sqlite.Store
	ahead   atomic.Int64 // nanoseconds
	seen    map[string]int
}

func openWorkspace(t testing.TB) *workspace {
	t.Helper()
	return openShop(t, func(*bot.Config) {}, nil)
}

// openShop is a workspace whose configuration is changed, and which another channel
// joins: join registers it and gives what runs it.
func openShop(t testing.TB, change func(*bot.Config), join func(*workspace) func(context.Context) error) *workspace {
	t.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	server, err := slacktest.New(t.Context())
	require.NoError(t, err)
	t.Cleanup(server.Close)
	store, err := sqlite.Open(t.Context(), t.TempDir()+"/record.db", sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	w := &workspace{Server: server, base: base, store: store, seen: map[string]int{}}
	who := func(name string, role bot.Role, id string) *bot.Person {
		return &bot.Person{Name: name, Role: role, Identities: map[string]string{slack.Channel: id}}
	}
	w.config = bot.Config{
		Shop: "Larkmoor Heating & Air",
		People: map[string]*bot.Person{
			"ana": who("Ana", bot.TechnicianRole, ana), "sam": who("Sam", bot.SeniorRole, sam), "dee": who("Dee", bot.DispatcherRole, dee),
		},
		Channels: map[string]bot.Channel{slack.Channel: {Conversation: room}, web.Channel: {}},
	}
	change(&w.config)
	w.service, err = bot.New(store, base, w.config, bot.Options{Now: func() time.Time { return time.Now().Add(time.Duration(w.ahead.Load())) }})
	require.NoError(t, err)
	adapter, err := slack.New(w.service, slack.Options{BotToken: server.BotToken, AppToken: server.AppToken, API: server.API(), Board: w.service})
	require.NoError(t, err)
	w.pages, err = openWeb(web.Options{}, w.service, store, w.config, zerolog.Nop())
	require.NoError(t, err)
	require.NoError(t, w.service.Register(slack.Channel, adapter))
	runs := []func(context.Context) error{w.service.Run, adapter.Run, w.pages.Run}
	if join != nil {
		runs = append(runs, join(w))
	}
	require.NoError(t, w.service.Restore(t.Context()))
	for _, run := range runs { // ended in the other order
		ctx, cancel := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- run(ctx) }()
		t.Cleanup(func() {
			cancel()
			require.NoError(t, <-ended)
		})
	}
	return w
}

// happens delivers an event, twice, and waits until the answers are there.
func (w *workspace) happens(t testing.TB, e *slacktest.Event) {
	t.Helper()
	for range 2 { // what is delivered again changes nothing
		_, err := w.Deliver(t.Context(), e)
		require.NoError(t, err)
	}
	require.NoError(t, w.service.Flush(t.Context()))
}

// says has a person say something in the room or a thread of it, and gives its
// timestamp.
func (w *workspace) says(t testing.TB, who, thread, text string) string {
	t.Helper()
	event, ts := w.Say(slacktest.Said{Conversation: room, User: who, Thread: thread, Text: text})
	w.happens(t, event)
	return ts
}

// fresh gives what is shown in a conversation since it was last looked at.
func (w *workspace) fresh(conversation string) (posts []slacktest.Post, text string) {
	all := w.Posts(conversation)
	posts = all[w.seen[conversation]:]
	w.seen[conversation] = len(all)
	var b strings.Builder
	for _, p := range posts {
		b.WriteString(p.Shown + "\n")
	}
	return posts, b.String()
}

// A whole job in Slack: the technician's readings to a call, what the dispatcher
// sees of it, the alarm when no senior comes, the senior's overruling, the repair,
// the checks, the close and the report of it.
func TestAWholeJobInSlack(t *testing.T) {
	t.Parallel()
	w := openWorkspace(t)
	thread := w.says(t, ana, "", "no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
	for _, text := range []string{
		"236 at the bottom of the contactor", "0 amps on common", "c to s OL", "c to r OL", "r to s 3.3", "cap is a 45/5, herm reads 44.6", "shell is cold",
	} {
		w.says(t, ana, thread, text)
	}
	posts, shown := w.fresh(room)
	require.Contains(t, shown, "A senior confirms this before anything is changed.")
	for _, p := range posts {
		require.Equal(t, thread, p.Thread, "the agent answers in the thread")
		require.Empty(t, p.Formed)
	}
	card := posts[len(posts)-1]
	require.Contains(t, card.Shown, "Call: compressor with its internal overload failed open")
	require.Equal(t, []string{"Confirm", "Overrule", "One more reading", "Take over"}, card.Buttons)
	_, shown = w.fresh("D" + sam)
	require.Contains(t, shown, "Ruled out: weak run capacitor", "the senior gets the evidence himself")

	w.happens(t, w.Command(room, dee, "/proveout", "status"))
	_, shown = w.fresh(room)
	require.Contains(t, shown, "1 open\nJ-1001 Ana, proposed")
	w.happens(t, w.OpenHome(sam))
	home, buttons, err := w.WaitHome(t.Context(), sam)
	require.NoError(t, err)
	require.Contains(t, home, "1 open job\nAna · proposed")
	require.Equal(t, []string{"Confirm", "Overrule"}, buttons)

	w.ahead.Store(int64(11 * time.Minute))
	require.NoError(t, w.service.Watch(t.Context()))
	require.NoError(t, w.service.Flush(t.Context()))
	for _, conversation := range []string{room, "D" + dee, "D" + sam} {
		_, shown = w.fresh(conversation)
		require.Contains(t, shown, "ALARM J-1001: the call has waited 11 min for a senior", conversation)
	}

	w.happens(t, w.Press(ana, card, "Confirm"))
	_, shown = w.fresh(room)
	require.Contains(t, shown, "That is for a senior technician.")
	w.happens(t, w.Press(sam, card, "Overrule"))
	posts, shown = w.fresh(room)
	require.Contains(t, shown, "What is it instead?")
	require.NotEmpty(t, posts[len(posts)-1].Buttons)
	w.says(t, sam, thread, "override, it is an open wire at the contactor coil")
	_, shown = w.fresh(room)
	require.Contains(t, shown, "Sam names it: open wire at the contactor coil")

	w.says(t, ana, thread, "fixed the wire, done")
	_, shown = w.fresh(room)
	require.Contains(t, shown, "Now prove it well")
	for _, text := range []string{
		"coil reads 26", "comp running", "fan is spinning", "return 75, supply 56", "suction 118, head 300", "12 amps on common", "filter is clean", "yes", "pulled in",
	} {
		if w.says(t, ana, thread, text); len(w.service.OpenJobs(slack.Channel, dee)) == 0 {
			break
		}
	}
	_, shown = w.fresh(room)
	require.Contains(t, shown, "Job closed, repaired and proven well: open wire at the contactor coil.")
	w.happens(t, w.Command(room, dee, "/proveout", "status"))
	_, shown = w.fresh(room)
	require.Contains(t, shown, "No open jobs.")

	page := w.report(t, "J-1001")
	for _, text := range []string{"12 Fenwick", "open wire at the contactor coil", "Sam", "overruled", "fixed the wire, done", "Job closed"} {
		require.Contains(t, page, text)
	}
}

// The circuit on request, by the button under a question that is read in it and by a word.
func TestTheCircuitComesToTheThreadAsAPicture(t *testing.T) {
	t.Parallel()
	w := openWorkspace(t)
	thread := w.says(t, ana, "", "no cooling at 12 Fenwick. blower runs, nothing running outside, contactor's out")
	posts, _ := w.fresh(room)
	asked := posts[len(posts)-1]
	require.Contains(t, asked.Buttons, "Show the circuit")
	w.happens(t, w.Press(ana, asked, "Show the circuit"))
	w.says(t, ana, thread, "where do the leads go?")
	posts, _ = w.fresh(room)
	require.Len(t, posts, 4, "words and a picture, twice")
	for i := range 2 {
		words, picture := posts[2*i], posts[2*i+1]
		require.Equal(t, thread, picture.Thread)
		require.Contains(t, words.Shown, "AC volts: one lead on")
		require.Contains(t, picture.Files[0].Alt, "AC volts: red ")
		require.Equal(t, "image/png", picture.Files[0].Mimetype)
	}
	w.report(t, "J-1001")
}

// report is a job's report, whose every reply can be computed anew from the record.
func (w *workspace) report(t *testing.T, job string) string {
	t.Helper()
	_, events, err := w.store.Read(t.Context(), job, true)
	require.NoError(t, err)
	differences, answers, err := bot.Replay(w.service.Agent(), w.service.Version(), events)
	require.NoError(t, err)
	require.Empty(t, differences)
	require.Positive(t, answers)
	var page strings.Builder
	require.NoError(t, report.New(w.base, w.config, time.UTC, events, nil).Write(&page, "markdown"))
	return page.String()
}

// A technician who writes Spanish is answered in it, by buttons too; the dispatcher
// beside him reads English.
func TestASpanishJobInSlack(t *testing.T) {
	t.Parallel()
	w := openWorkspace(t)
	thread := w.says(t, ana, "", "no enfría, el blower anda pero la unidad de afuera no")
	w.says(t, ana, thread, "24 en el amarillo, 0 después del switch de baja")
	posts, shown := w.fresh(room)
	require.Contains(t, shown, "Leído: 24 V en Y y C en la unidad exterior")
	require.Contains(t, shown, "⚠ Lentes y guantes para conectar manómetros")
	last := posts[len(posts)-1]
	require.Equal(t, []string{"¿Por qué?", "No puedo"}, last.Buttons)
	w.happens(t, w.Press(ana, last, "¿Por qué?"))
	_, shown = w.fresh(room)
	require.Contains(t, shown, "y esta es la prueba que falta")
	w.happens(t, w.Command(room, dee, "/proveout", "status"))
	_, shown = w.fresh(room)
	require.Contains(t, shown, "1 open\nJ-1001 Ana, measuring")
	require.Contains(t, w.report(t, "J-1001"), "Leído: 24 V")
}
