package web

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/conformance"
	"proveout/bot"
	"proveout/bot/ladder"
	"proveout/bot/signin"
	"proveout/bot/sqlite"
)

// busy is a shop with jobs on its board and a desk that keeps what it is handed.
type busy struct {
	shop
	*conformance.Desk
	rows []bot.Row
}

func (b busy) Board(viewer string) (*bot.Board, error) {
	who, _ := b.Known(viewer)
	return &bot.Board{Viewer: who, Jobs: slices.Clone(b.rows)}, nil
}

func (b busy) JobView(_ context.Context, _, job string) (*bot.JobView, error) {
	for _, r := range b.rows {
		if r.Job == job {
			return &bot.JobView{Row: r, Language: "en", Open: true}, nil
		}
	}
	return nil, &bot.Error{Code: bot.CodeNotFound}
}

func (busy) Search(_ context.Context, _, text string) ([]bot.Found, error) {
	if text != "fenwick" {
		return nil, nil
	}
	return []bot.Found{
		{Job: "J-1001", Title: "compressor hums at 12 Fenwick"},
		{Job: "J-0990", Title: "no cooling at 3 Fenwick", Closed: time.Now(), Cause: "clogged <drain>", Proven: true},
	}, nil
}

func (b busy) JobIn(_ context.Context, _, thread string) (string, error) {
	for _, in := range b.Got() {
		if in.Thread == thread {
			return "J-1001", nil
		}
	}
	return "", nil
}

func (busy) Drawing(context.Context, string, string) (ladder.Drawing, error) {
	return ladder.Drawing{}, &bot.Error{Code: bot.CodeNotFound}
}

func (b busy) Receive(ctx context.Context, in bot.Inbound) error { return b.Desk.Receive(ctx, in) }

func threeJobs() []bot.Row {
	row := func(job, tech, complaint string, stuck, open int, p float64, waits bot.Role) bot.Row {
		return bot.Row{
			Job: job, Complaint: complaint, Technician: bot.Member{ID: tech, Name: tech}, Stuck: stuck, SinceReading: stuck, Open: open, Probability: p, Waits: waits,
			Actions: []bot.Button{{Action: "snooze:" + job, Label: "Snooze"}, {Action: "assign:" + job, Label: "Assign"}},
		}
	}
	return []bot.Row{
		row("J-1002", "ben", "no cooling on Dorset Row", 9, 20, 0.5, bot.TechnicianRole),
		row("J-1001", "ana", "compressor hums at 12 Fenwick", 6, 40, 0.9, bot.SeniorRole),
		row("J-1003", "cal", "warm air at 8 Alder Court", 3, 5, 0.2, bot.TechnicianRole),
	}
}

// atWork opens the pages of a busy shop.
func atWork(t *testing.T, rows []bot.Row) (*Adapter, *conformance.Desk) {
	t.Helper()
	store, err := sqlite.Open(t.Context(), t.TempDir()+"/record.db", sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	b := busy{shop{codes: make(chan string, 1)}, &conformance.Desk{}, rows}
	a, err := New(b, Options{Desk: signin.New(store, b.shop, signin.Options{})})
	require.NoError(t, err)
	return a, b.Desk
}

func listedJobs(t *testing.T, a *Adapter, query string) []string {
	t.Helper()
	q, err := url.ParseQuery(query)
	require.NoError(t, err)
	p, err := a.boardOf("dee", readAsked(q))
	require.NoError(t, err)
	out := []string{}
	for _, ticket := range p.Tickets {
		out = append(out, ticket.Row.Job)
	}
	return out
}

func TestTheBoardIsFilteredAndSortedAsAsked(t *testing.T) {
	t.Parallel()
	a, _ := atWork(t, threeJobs())
	for query, want := range map[string][]string{
		"":                           {"J-1002", "J-1001", "J-1003"},
		"sort=nonsense":              {"J-1002", "J-1001", "J-1003"},
		"sort=open":                  {"J-1001", "J-1002", "J-1003"},
		"sort=sure":                  {"J-1001", "J-1002", "J-1003"},
		"sort=technician":            {"J-1001", "J-1002", "J-1003"},
		"waits=senior":               {"J-1001"},
		"q=fenwick":                  {"J-1001"},
		"q=ALDER+cal":                {"J-1003"},
		"q=row&waits=senior":         {},
		"waits=technician&sort=open": {"J-1002", "J-1003"},
	} {
		require.Equal(t, want, listedJobs(t, a, query), query)
	}
}

func TestWhatIsLookedForIsFoundAmongClosedJobsToo(t *testing.T) {
	t.Parallel()
	a, _ := atWork(t, threeJobs())
	v := visitorOf(t, a)
	var err error
	v.cookies[sessionCookie], err = a.Desk.Admit(t.Context(), Provider, "dee", "a browser")
	require.NoError(t, err)
	page := v.ask(http.MethodGet, "/board?q=fenwick", nil).Body.String()
	require.Contains(t, page, `<a href="/jobs/J-0990">no cooling at 3 Fenwick</a>`)
	require.Contains(t, page, "clogged &lt;drain&gt;")
	require.Equal(t, 1, strings.Count(page, `href="/jobs/J-1001"`), "an open one is on the board itself")
	require.NotContains(t, v.ask(http.MethodGet, "/board", nil).Body.String(), "J-0990")
}

func TestABoardOfManyJobsIsShownInPages(t *testing.T) {
	t.Parallel()
	var rows []bot.Row
	for n := range 2*boardRows + 1 {
		rows = append(rows, bot.Row{Job: fmt.Sprint("J-", n)})
	}
	a, _ := atWork(t, rows)
	seen := map[string]bool{}
	address := "/board"
	for pages := 1; address != ""; pages++ {
		require.LessOrEqual(t, pages, 3)
		u, err := url.Parse(address)
		require.NoError(t, err)
		p, err := a.boardOf("dee", readAsked(u.Query()))
		require.NoError(t, err)
		for _, ticket := range p.Tickets {
			seen[ticket.Row.Job] = true
		}
		address = p.Next
	}
	require.Len(t, seen, len(rows), "each job once")
}

func TestTheAddressOfABoardAsksForTheSameBoard(t *testing.T) {
	t.Parallel()
	for _, b := range []asked{{sort: "stuck"}, {query: "a & b=c", waits: "senior", sort: "open", act: "J-1001", from: 30}} {
		u, err := url.Parse(b.address("/board"))
		require.NoError(t, err)
		require.Equal(t, b, readAsked(u.Query()))
	}
}

func TestWhatIsPressedAndWrittenReachesTheDesk(t *testing.T) {
	t.Parallel()
	a, desk := atWork(t, threeJobs())
	v := visitorOf(t, a)
	var err error
	v.cookies[sessionCookie], err = a.Desk.Admit(t.Context(), Provider, "dee", "a browser")
	require.NoError(t, err)

	got := v.ask(http.MethodPost, "/jobs/J-1001/act", url.Values{"act": {"snooze"}, "back": {"/board?q=a"}})
	require.Equal(t, "/board?q=a", got.Header().Get("Location"))
	v.ask(http.MethodPost, "/jobs/J-1001/act", url.Values{"act": {"assign"}, "what": {"sam"}})
	v.ask(http.MethodPost, "/jobs/J-1001/act", url.Values{"act": {"slot"}, "what": {"2026-07-01T15:30"}})
	for range 2 { // sent twice under one id
		v.ask(http.MethodPost, "/jobs/J-1001/say", url.Values{"id": {"x1"}, "text": {" mind the dog "}})
	}
	in := desk.Got()
	require.Len(t, in, 5)
	require.Equal(t, []string{"snooze:J-1001", "assign:J-1001:sam", "slot:J-1001:2026-07-01T15:30:00Z"}, []string{in[0].Action, in[1].Action, in[2].Action})
	for _, one := range in {
		require.Equal(t, Channel, one.Channel)
		require.Equal(t, "dee", one.From)
		require.Contains(t, one.ID, "dee/", "nobody takes another's id")
	}
	require.NotEqual(t, in[0].ID, in[1].ID)
	require.Equal(t, "dee/x1", in[3].ID)
	require.Equal(t, in[3].ID, in[4].ID, "the record knows it again")
	require.Contains(t, in[3].Text, "mind the dog")

	v.ask(http.MethodPost, "/jobs/J-1001/act", url.Values{"act": {"overrule"}, "what": {"contactor-coil/open"}, "reason": {"the coil is warm"}})
	in = desk.Got()[5:]
	require.Len(t, in, 2)
	require.Equal(t, "overrule:J-1001:contactor-coil/open", in[0].Action)
	require.Equal(t, []string{bot.Said, "J-1001", "the coil is warm"}, []string{in[1].Kind, in[1].Thread, in[1].Text})

	for name, form := range map[string]url.Values{
		"no text": {"id": {"x2"}, "text": {" "}}, "no id": {"text": {"a"}}, "too long": {"id": {"x3"}, "text": {string(make([]byte, mostText+1))}},
	} {
		require.Equal(t, http.StatusBadRequest, v.ask(http.MethodPost, "/jobs/J-1001/say", form).Code, name)
	}
	desk.Refuse(1)
	require.Equal(t, http.StatusInternalServerError, v.ask(http.MethodPost, "/jobs/J-1001/say", url.Values{"id": {"x4"}, "text": {"a"}}).Code, "what is not in the record is not taken")
	require.Len(t, desk.Got(), 7)
}

func TestATechnicianSpeaksOnHisOwnJobAlone(t *testing.T) {
	t.Parallel()
	a, desk := atWork(t, threeJobs())
	v := visitorOf(t, a)
	var err error
	v.cookies[sessionCookie], err = a.Desk.Admit(t.Context(), Provider, "ana", "a phone")
	require.NoError(t, err)
	form := url.Values{"id": {"1"}, "text": {"27 at the yellow"}, "at": {"2026-07-01T15:30:00Z"}}
	require.Equal(t, http.StatusSeeOther, v.ask(http.MethodPost, "/talk/J-1001", form).Code)
	require.Equal(t, http.StatusForbidden, v.ask(http.MethodPost, "/talk/J-1002", form).Code)
	require.Equal(t, http.StatusNotFound, v.ask(http.MethodPost, "/talk/J-4711", form).Code)
	require.Equal(t, http.StatusSeeOther, v.ask(http.MethodPost, "/talk/J-1001", url.Values{"id": {"2"}, "act": {"say:why"}}).Code)
	require.Equal(t, http.StatusBadRequest, v.ask(http.MethodPost, "/talk/J-1001", url.Values{"id": {"3"}, "act": {"confirm:J-1001"}}).Code, "an answer is all that is pressed here")
	in := desk.Got()
	require.Len(t, in, 2)
	require.Equal(t, "2026-07-01T15:30:00Z", in[0].At.Format("2006-01-02T15:04:05Z"), "a message that waited says when it was written")
	require.Equal(t, bot.Pressed, in[1].Kind)
	require.Equal(t, "say:why", in[1].Action)
}

func TestAJobBegunOnAPhoneIsKnownByTheMessageThatBeganIt(t *testing.T) {
	t.Parallel()
	a, desk := atWork(t, threeJobs())
	v := visitorOf(t, a)
	var err error
	v.cookies[sessionCookie], err = a.Desk.Admit(t.Context(), Provider, "ana", "a phone")
	require.NoError(t, err)
	for range 2 {
		got := v.ask(http.MethodPost, "/talk", url.Values{"id": {"1"}, "text": {"no cooling"}})
		require.Equal(t, "/talk/J-1001", got.Header().Get("Location"))
	}
	in := desk.Got()
	require.Equal(t, in[0].ID, in[1].ID)
	require.Equal(t, in[0].Thread, in[1].Thread)
	require.Equal(t, "no cooling", in[0].Text)
}
