package main

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/adapters/slack"
	"proveout/adapters/slack/slacktest"
	"proveout/bot"
	"proveout/bot/postgres/postgrestest"
)

// onEitherRecord runs a test with both shops' records in files, and in one database.
func onEitherRecord(t *testing.T, test func(t *testing.T, record func(key string) string)) {
	t.Helper()
	t.Run("files", func(t *testing.T) {
		t.Parallel()
		test(t, inFiles)
	})
	t.Run("database", func(t *testing.T) {
		t.Parallel()
		_, address := aDatabase(t)
		test(t, func(key string) string { return address + "#" + key })
	})
}

// aDatabase is a server of the test's own, and the address of an empty database on it.
func aDatabase(t *testing.T) (*postgrestest.Server, string) {
	t.Helper()
	server, err := postgrestest.Start(t.Context())
	if errors.Is(err, postgrestest.ErrMissing) && os.Getenv("CI") != "true" {
		t.Skip(err)
	}
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, server.Stop()) })
	address, err := server.Database(t.Context())
	require.NoError(t, err)
	return server, address
}

// of is the running shop of a tenant.
func (h *tenants) of(v *tenant) *shop {
	if h.shops[0].host() == v.host {
		return h.shops[0]
	}
	return h.shops[1]
}

// kept is all events of all jobs in a shop's record, as it is on the disk.
func (h *tenants) kept(t testing.TB, v *tenant) map[string][]bot.Event {
	t.Helper()
	s, err := openRecord(t.Context(), h.of(v).config.Record, toLook)
	require.NoError(t, err)
	defer func() { require.NoError(t, s.Close()) }()
	jobs, err := s.Jobs(t.Context())
	require.NoError(t, err)
	out := map[string][]bot.Event{}
	for _, job := range jobs {
		_, out[job], err = s.Read(t.Context(), job, true)
		require.NoError(t, err)
	}
	return out
}

// browsed is what a browser is told.
type browsed struct {
	status     int
	page, goTo string
	cookies    []*http.Cookie
}

// ask asks for a page of a shop, or sends a form to it.
func (h *tenants) ask(t testing.TB, v *tenant, method, path string, form url.Values, cookies ...*http.Cookie) browsed {
	t.Helper()
	r := httptest.NewRequestWithContext(t.Context(), method, path, strings.NewReader(form.Encode()))
	r.Host = v.host
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for _, c := range cookies {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	h.at.ServeHTTP(w, r)
	a := browsed{status: w.Code, page: w.Body.String(), goTo: w.Header().Get("Location")}
	for _, line := range w.Header().Values("Set-Cookie") {
		c, err := http.ParseSetCookie(line)
		require.NoError(t, err)
		a.cookies = append(a.cookies, c)
	}
	return a
}

// coded has a code sent to somebody, and gives the ticket it is good with.
func (h *tenants) coded(t testing.TB, v *tenant, id, name string) (ticket *http.Cookie, code string) {
	t.Helper()
	before := len(v.Posts("D" + id))
	a := h.ask(t, v, http.MethodPost, "/sign-in", url.Values{"who": {name}})
	require.Len(t, a.cookies, 1)
	soon(t, func() bool {
		posts := v.Posts("D" + id)
		if len(posts) == before {
			return false
		}
		code = regexp.MustCompile(`\b\d{6}\b`).FindString(posts[len(posts)-1].Shown)
		return code != ""
	})
	return a.cookies[0], code
}

// signedIn gives the session of somebody who has come in.
func (h *tenants) signedIn(t testing.TB, v *tenant, id, name string) *http.Cookie {
	t.Helper()
	ticket, code := h.coded(t, v, id, name)
	a := h.ask(t, v, http.MethodPost, "/sign-in/code", url.Values{"who": {name}, "code": {code}}, ticket)
	require.Equal(t, http.StatusSeeOther, a.status, a.page)
	at := slices.IndexFunc(a.cookies, func(c *http.Cookie) bool { return c.MaxAge > 0 })
	require.GreaterOrEqual(t, at, 0, "there is no session")
	return a.cookies[at]
}

// shown is all that anybody was shown in a shop's rooms and on phones.
func (v *tenant) shown() string {
	var b strings.Builder
	for _, conversation := range []string{v.room, "D" + ana, "D" + sam, "D" + dee, "D" + v.only} {
		for _, p := range v.Posts(conversation) {
			b.WriteString(p.Shown + "\n")
		}
	}
	for _, p := range v.texts.Posts() {
		b.WriteString(p.Text + "\n")
	}
	return b.String()
}

// press is the press of a button of that label in the shop's room, once there is one.
func (v *tenant) press(t testing.TB, who, label string) (pressed *slacktest.Event) {
	t.Helper()
	soon(t, func() bool {
		for _, p := range slices.Backward(v.Posts(v.room)) {
			if slices.Contains(p.Buttons, label) {
				pressed = v.Press(who, p, label)
				return true
			}
		}
		return false
	})
	return pressed
}

// text sends a text to a shop from a phone, until it is taken.
func (v *tenant) text(t testing.TB, text string) {
	t.Helper()
	d := v.texts.Say(anaNumber, v.number, text)
	soon(t, func() bool { return v.texts.Deliver(t.Context(), d) == nil })
}

// What lets somebody in at one shop, and what names something there, is worth nothing at
// another's: secrets, sessions, codes, buttons, numbers of jobs, and being known by the
// same number or in the same chat.
func TestNoWayIntoOneShopLeadsToAnother(t *testing.T) {
	t.Parallel()
	onEitherRecord(t, func(t *testing.T, record func(string) string) {
		h := openTenants(t, record, nil, atEase)
		lark, wren := h.lark, h.wren
		h.until(t, "", "/readyz", http.StatusOK)

		// Ana is known to both; what she says to one is that one's.
		lark.says(t, ana, "no cooling at 12 Fenwick. outdoor unit dead, blower runs")
		lark.text(t, "contactor isnt pulled in")
		_, err := lark.WaitPosts(t.Context(), lark.room, 3)
		require.NoError(t, err)
		require.Len(t, h.kept(t, lark), 1)
		require.Empty(t, h.kept(t, wren))

		desk := h.signedIn(t, lark, dee, "Dee Marsh")
		ticket, code := h.coded(t, lark, sam, "Sam Okoro")
		a := h.ask(t, lark, http.MethodGet, "/board", nil, desk)
		require.Equal(t, http.StatusOK, a.status)
		require.Contains(t, a.page, "Fenwick")

		// What lets in at Larkmoor's does not at Wrenfield's.
		lark.SendTo(wren.front.URL + "/slack")
		said, _ := lark.Say(slacktest.Said{Conversation: wren.room, User: sam, Text: "status"})
		for _, e := range []*slacktest.Event{said, lark.Command(wren.room, dee, "/proveout", "status"), lark.press(t, ana, "Why?"), lark.OpenHome(sam)} {
			_, err := lark.Deliver(t.Context(), e)
			require.ErrorContains(t, err, "status 401")
		}
		lark.SendTo(lark.front.URL + "/slack")
		lark.texts.DeliverTo(wren.front.URL)
		require.ErrorContains(t, lark.texts.Deliver(t.Context(), lark.texts.Say(anaNumber, wren.number, "no cooling at 12 Fenwick")), "401")
		require.ErrorContains(t, lark.texts.Report(t.Context(), "x1", "failed", "off"), "401")
		lark.texts.DeliverTo(lark.front.URL)
		for _, path := range []string{
			"/board", "/board/live", "/jobs/J-1001", "/jobs/J-1001/live", "/jobs/J-1001/report", "/jobs/J-1001/circuit.svg",
			"/talk", "/talk/J-1001", "/talk/J-1001/live", "/knowledge", "/me",
		} {
			a := h.ask(t, wren, http.MethodGet, path, nil, desk)
			require.NotEqual(t, http.StatusOK, a.status, path)
			require.NotContains(t, a.page, "Fenwick")
		}
		for _, path := range []string{"/jobs/J-1001/say", "/jobs/J-1001/act", "/talk", "/talk/J-1001", "/sign-out"} {
			a := h.ask(t, wren, http.MethodPost, path, url.Values{"text": {"no cooling"}, "id": {"1"}, "act": {"confirm"}}, desk)
			require.NotEqual(t, "/jobs/J-1001", a.goTo, path)
			require.GreaterOrEqual(t, a.status, http.StatusSeeOther, path)
		}
		a = h.ask(t, wren, http.MethodPost, "/sign-in/code", url.Values{"who": {"Sam Okoro"}, "code": {code}}, ticket)
		require.Equal(t, http.StatusForbidden, a.status)
		mine, _ := h.coded(t, wren, sam, "Sam Okoro")
		a = h.ask(t, wren, http.MethodPost, "/sign-in/code", url.Values{"who": {"Sam Okoro"}, "code": {code}}, mine)
		require.Equal(t, http.StatusForbidden, a.status, "the code of the one with the ticket of the other")
		a = h.ask(t, lark, http.MethodGet, "/board", nil, desk)
		require.Equal(t, http.StatusOK, a.status, "who signed out elsewhere is signed in here")
		require.Empty(t, h.kept(t, wren))
		require.NotContains(t, wren.shown(), "Fenwick")

		// Wrenfield has a second job, which Larkmoor has no job of that number for.
		wren.says(t, ana, "no cooling at 3 Larch Street. outdoor unit dead, blower runs")
		wren.text(t, "new job: no cooling at 8 Alder Court. condenser fan runs, compressor is silent, blower is running")
		for _, reading := range []string{"236 at the bottom of the contactor", "0 amps on common", "c to s OL", "c to r OL", "r to s 3.3", "cap is a 45/5, herm reads 44.6", "shell is cold"} {
			wren.text(t, "J-1002 "+reading)
		}
		confirms := wren.press(t, sam, "Confirm")
		before, own := h.kept(t, wren), h.kept(t, lark)
		require.Len(t, before, 2)
		require.Len(t, own, 1)

		// What names it means nothing at Larkmoor's.
		_, err = lark.Deliver(t.Context(), confirms)
		require.NoError(t, err, "it is signed as Larkmoor's workspace signs")
		lark.says(t, sam, "J-1002 confirm")
		lark.says(t, sam, "override J-1002, it is an open wire")
		_, err = lark.Deliver(t.Context(), lark.Command(lark.room, dee, "/proveout", "J-1002"))
		require.NoError(t, err)
		lark.text(t, "J-1002")
		senior := h.signedIn(t, lark, sam, "Sam Okoro")
		for _, who := range []*http.Cookie{desk, senior} {
			for _, path := range []string{"/jobs/J-1002", "/jobs/J-1002/live", "/jobs/J-1002/report", "/jobs/J-1002/circuit.svg"} {
				a := h.ask(t, lark, http.MethodGet, path, nil, who)
				require.Equal(t, http.StatusNotFound, a.status, path)
				require.NotContains(t, a.page, "Alder")
			}
			for _, act := range []string{"confirm", "take", "snooze"} {
				a := h.ask(t, lark, http.MethodPost, "/jobs/J-1002/act", url.Values{"act": {act}}, who)
				require.GreaterOrEqual(t, a.status, http.StatusBadRequest, act)
			}
			a := h.ask(t, lark, http.MethodPost, "/jobs/J-1002/say", url.Values{"text": {"confirm"}, "id": {"7"}}, who)
			require.GreaterOrEqual(t, a.status, http.StatusBadRequest)
			for _, path := range []string{"/board", "/board?q=alder", "/board?q=J-1002"} {
				a := h.ask(t, lark, http.MethodGet, path, nil, who)
				require.NotContains(t, a.page, "Alder Court")
				require.NotContains(t, a.page, "compressor with its internal overload")
			}
		}
		// Whom only Larkmoor knows is a stranger at Wrenfield's.
		seen := len(wren.Posts(wren.room))
		wren.says(t, lark.only, "status")
		_, err = wren.WaitPosts(t.Context(), wren.room, seen+1)
		require.NoError(t, err)
		for _, p := range wren.Posts(wren.room)[seen:] {
			require.NotContains(t, p.Shown, "J-1001")
		}
		require.Equal(t, before, h.kept(t, wren))
		require.NotContains(t, lark.shown(), "Alder Court")
		for _, events := range h.kept(t, lark) {
			for _, e := range events {
				require.NotEqual(t, bot.EventRuled, e.Kind)
			}
		}

		// At home all of it counts.
		_, err = wren.Deliver(t.Context(), confirms)
		require.NoError(t, err)
		soon(t, func() bool { return strings.Contains(wren.shown(), "Sam Okoro confirmed it") })
		require.NotContains(t, h.log.String(), "Fenwick")
	})
}

// Every method of the service is asked by one shop for what another has, under its very
// names; a method added later fails here until it is.
func TestNoMethodOfTheServiceGivesWhatIsAnothers(t *testing.T) {
	t.Parallel()
	const ownKnowledge = "split-with-lockout"
	onEitherRecord(t, func(t *testing.T, record func(string) string) {
		h := openTenants(t, record, map[string]string{"wrenfield": "knowledge: own\nlanguage: es\n"}, func(_ *tenants, dir string) { keepLockout(t, dir+"/own") })
		h.until(t, "", "/readyz", http.StatusOK)
		wren := h.wren
		wren.says(t, ana, "no cooling at 8 Alder Court. outdoor unit dead, blower runs")
		_, err := wren.WaitPosts(t.Context(), wren.room, 1)
		require.NoError(t, err)
		theirs, mine := h.of(wren).serves.Load(), h.of(h.lark).serves.Load()
		ctx := t.Context()

		// dump is what a method gives, as far as it can be read.
		dump := func(v any, err error) string { return fmt.Sprintf("%+v %v", v, err) }
		asks := map[string]func(s *bot.Service) string{
			"Board":   func(s *bot.Service) string { return dump(s.Board("dee")) },
			"JobView": func(s *bot.Service) string { return dump(s.JobView(ctx, "dee", "J-1001")) },
			"Search":  func(s *bot.Service) string { return dump(s.Search(ctx, "dee", "alder")) },
			"Drawing": func(s *bot.Service) string { d, err := s.Drawing(ctx, "dee", "J-1001"); return dump(d, err) },
			"Changes": func(s *bot.Service) string {
				c, err := s.Changes(ctx, "dee", "J-1001")
				return fmt.Sprint(c != nil, err)
			},
			"JobIn":       func(s *bot.Service) string { return dump(s.JobIn(ctx, "ana", "page")) },
			"OpenJobs":    func(s *bot.Service) string { return dump(s.OpenJobs(slack.Channel, dee), nil) },
			"Undelivered": func(s *bot.Service) string { return dump(s.Undelivered(), nil) },
			"Members":     func(s *bot.Service) string { return dump(s.Members(), nil) },
			"Colleague":   func(s *bot.Service) string { m, ok := s.Colleague("only-wrenfield"); return fmt.Sprint(m, ok) },
			"Known":       func(s *bot.Service) string { m, ok := s.Known("Only wrenfield"); return fmt.Sprint(m, ok) },
			"Identified":  func(s *bot.Service) string { m, ok := s.Identified(slack.Channel, wren.only); return fmt.Sprint(m, ok) },
			"SendCode": func(s *bot.Service) string {
				return dump(nil, s.SendCode(ctx, "only-wrenfield", "123456", time.Minute))
			},
			"Shop":     func(s *bot.Service) string { return s.Shop() },
			"Version":  func(s *bot.Service) string { return s.Version() },
			"Handbook": func(s *bot.Service) string { return dump(s.Handbook("en").Units, nil) },
			"Wiring": func(s *bot.Service) string {
				svg, err := s.Wiring("en", ownKnowledge)
				return fmt.Sprint(svg != "", err)
			},
			"OwnKnowledge": func(s *bot.Service) string {
				return dump(s.OwnKnowledge().Files, nil)
			},
			"Agent":      func(s *bot.Service) string { return fmt.Sprintf("%p", s.Agent()) },
			"Languages":  func(s *bot.Service) string { return s.Languages()[0] },
			"Reads":      func(s *bot.Service) string { return s.Reads("dee") },
			"PhrasesFor": func(s *bot.Service) string { return s.PhrasesFor(slack.Channel, dee).Say("status-measuring") },
			"Receive": func(s *bot.Service) string {
				err := s.Receive(ctx, bot.Inbound{
					Channel: slack.Channel, ID: "press", Conversation: wren.room, From: sam, Kind: bot.Pressed, Action: "take:J-1001", At: time.Now(),
				})
				v, _ := theirs.JobView(ctx, "dee", "J-1001")
				return fmt.Sprint(err, s == theirs, v.Taken)
			},
		}
		const itself, words = "it is about the running of the shop itself", "what is said in a language is knowledge, whose overlay Handbook looks at"
		excused := map[string]string{
			"Ready": itself, "Register": itself, "Restore": itself, "Run": itself, "Flush": itself, "Watch": itself, "Words": words,
		}
		of := reflect.TypeFor[*bot.Service]()
		for method := range of.Methods() {
			name := method.Name
			ask, asked := asks[name]
			if !asked {
				require.NotEmpty(t, excused[name], "ask %s of a shop for what another has, or say why it needs not be asked", name)
				continue
			}
			got := ask(mine)
			require.NotContains(t, got, "Alder", name)
			require.NotContains(t, strings.ToLower(got), "only wrenfield", name)
			if name != "Undelivered" && name != "JobIn" { // of which there is none
				require.NotEqual(t, ask(theirs), got, "%s is asked for what the other has", name)
			}
		}
	})
}
