package web

import (
	"context"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/signin"
	"proveout/bot/sqlite"
)

// shop is a service of which only the people are there: who asks it for more has been
// let in where he should not. It keeps the codes it was to send.
type shop struct {
	Service
	codes chan string
}

func (shop) Shop() string                             { return "Larkmoor Heating & Air" }
func (shop) Languages() []string                      { return []string{"en"} }
func (shop) Reads(string) string                      { return "en" }
func (shop) Words(string) bot.Phrases                 { return bot.Phrases{} }
func (s shop) Colleague(id string) (bot.Member, bool) { return s.Known(id) }

func (shop) Known(said string) (bot.Member, bool) {
	role, ok := map[string]bot.Role{"ana": bot.TechnicianRole, "sam": bot.SeniorRole, "dee": bot.DispatcherRole, "oda": bot.OwnerRole}[said]
	return bot.Member{ID: said, Name: said, Role: role}, ok
}

func (s shop) Identified(_, identity string) (bot.Member, bool) { return s.Known(identity) }

func (s shop) SendCode(_ context.Context, _, code string, _ time.Duration) error {
	s.codes <- code
	return nil
}

func (s shop) Members() []bot.Member {
	var out []bot.Member
	for _, id := range []string{"ana", "dee", "oda", "sam"} {
		m, _ := s.Known(id)
		out = append(out, m)
	}
	return out
}

// open makes the pages of the shop, and the session of each of its people.
func open(t *testing.T, o Options) (a *Adapter, sessions map[string]string) {
	t.Helper()
	store, err := sqlite.Open(t.Context(), t.TempDir()+"/record.db", sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	of := shop{codes: make(chan string, 20)}
	o.Desk = signin.New(store, of, signin.Options{})
	a, err = New(of, o)
	require.NoError(t, err)
	sessions = map[string]string{"nobody": ""}
	for _, m := range (shop{}).Members() {
		sessions[m.ID], err = o.Desk.Admit(t.Context(), Provider, m.ID, "a browser")
		require.NoError(t, err)
	}
	return a, sessions
}

// mayAsk says who may ask for what: a technician, a senior, a dispatcher, an owner, one
// not signed in. It is written here by hand, beside no code it could agree with by
// mistake.
var mayAsk = map[string]string{
	"GET /{$}":                    "ana sam dee oda nobody",
	"GET /static/{name}":          "ana sam dee oda nobody",
	"GET /worker.js":              "ana sam dee oda nobody",
	"GET /manifest.webmanifest":   "ana sam dee oda nobody",
	"GET /icon.svg":               "ana sam dee oda nobody",
	"GET /icon-192.png":           "ana sam dee oda nobody",
	"GET /icon-512.png":           "ana sam dee oda nobody",
	"GET /board":                  "sam dee oda",
	"GET /board/live":             "sam dee oda",
	"GET /jobs/{job}":             "sam dee oda",
	"GET /jobs/{job}/live":        "sam dee oda",
	"GET /jobs/{job}/report":      "sam dee oda",
	"GET /jobs/{job}/circuit.svg": "sam dee oda",
	"GET /talk/{job}/circuit.svg": "ana sam",
	"POST /jobs/{job}/say":        "sam dee oda",
	"POST /jobs/{job}/act":        "sam dee oda",
	"GET /talk":                   "ana sam",
	"POST /talk":                  "ana sam",
	"GET /talk/{job}":             "ana sam",
	"GET /talk/{job}/live":        "ana sam",
	"POST /talk/{job}":            "ana sam",
	"GET /knowledge":              "ana sam dee oda",
	"GET /knowledge/units/{unit}": "ana sam dee oda",
	"GET /knowledge/faults":       "ana sam dee oda",
	"GET /knowledge/measurements": "ana sam dee oda",
	"GET /me":                     "ana sam dee oda",
	"POST /sign-out":              "ana sam dee oda",
	"GET /sign-in":                "ana sam dee oda nobody",
	"POST /sign-in":               "nobody",
	"POST /sign-in/code":          "nobody",
	"GET /sign-in/company":        "nobody",
	"GET /sign-in/company/back":   "nobody",
}

// ask makes a request as a person's browser does, and says how it was answered.
func ask(t *testing.T, h http.Handler, pattern, session string) *httptest.ResponseRecorder {
	t.Helper()
	method, path, _ := strings.Cut(strings.NewReplacer("{$}", "", "{name}", "page.js", "{job}", "J-1001", "{unit}", "split-cooling").Replace(pattern), " ")
	r := httptest.NewRequestWithContext(t.Context(), method, path, nil)
	if session != "" {
		r.AddCookie(&http.Cookie{Name: sessionCookie, Value: session})
	}
	w := httptest.NewRecorder()
	h.ServeHTTP(w, r)
	return w
}

func TestEveryRouteAnswersWhomItsRuleNamesAndNobodyElse(t *testing.T) {
	t.Parallel()
	a, sessions := open(t, Options{})
	table := a.routes()
	for i := range table {
		table[i].answer = func(v *visit) error {
			v.w.WriteHeader(http.StatusTeapot) // he was let in
			return nil
		}
	}
	h := a.handler(table)
	seen := map[string]bool{}
	for _, route := range table {
		who, ruled := mayAsk[route.pattern]
		require.True(t, ruled, "%s: say in this test who may ask for it", route.pattern)
		seen[route.pattern] = true
		for person, session := range sessions {
			got := ask(t, h, route.pattern, session).Code
			switch {
			case strings.Contains(who, person):
				require.Equal(t, http.StatusTeapot, got, "%s as %s", route.pattern, person)
			case person != "nobody":
				require.Equal(t, http.StatusForbidden, got, "%s as %s", route.pattern, person)
			case strings.HasPrefix(route.pattern, "GET "):
				require.Equal(t, http.StatusSeeOther, got, "%s as nobody: he is asked to sign in", route.pattern)
			default:
				require.Equal(t, http.StatusUnauthorized, got, "%s as nobody", route.pattern)
			}
		}
	}
	require.Len(t, seen, len(mayAsk), "a rule for a route there is no more")
}

func TestARouteWithoutARuleIsNobodys(t *testing.T) {
	t.Parallel()
	a, sessions := open(t, Options{})
	h := a.handler([]route{{pattern: "GET /forgotten", answer: func(*visit) error { panic("let in") }}})
	for person, session := range sessions {
		require.Contains(t, []int{http.StatusForbidden, http.StatusSeeOther}, ask(t, h, "GET /forgotten", session).Code, person)
	}
}

func TestAFormOfAnotherSiteIsRefused(t *testing.T) {
	t.Parallel()
	a, sessions := open(t, Options{Public: "https://larkmoor.example"})
	for _, c := range []struct {
		header, value string
		refused       bool
	}{
		{"Sec-Fetch-Site", "cross-site", true},
		{"Sec-Fetch-Site", "same-site", true},
		{"Sec-Fetch-Site", "same-origin", false},
		{"Origin", "https://elsewhere.example", true},
		{"Origin", "null", true},
		{"Origin", "https://larkmoor.example", false},
	} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodPost, "/sign-out", nil)
		r.AddCookie(&http.Cookie{Name: "__Host-" + sessionCookie, Value: sessions["dee"]})
		r.Header.Set(c.header, c.value)
		w := httptest.NewRecorder()
		a.ServeHTTP(w, r)
		require.Equal(t, c.refused, w.Code == http.StatusForbidden, "%s: %s answered %d", c.header, c.value, w.Code)
		if !c.refused {
			sessions["dee"], _ = a.Desk.Admit(t.Context(), Provider, "dee", "a browser")
		}
	}
}

func TestEveryAnswerTellsTheBrowserToLoadNothingFromElsewhere(t *testing.T) {
	t.Parallel()
	a, sessions := open(t, Options{})
	for _, path := range []string{"GET /sign-in", "GET /nowhere", "GET /worker.js", "GET /board"} {
		h := ask(t, a, path, sessions["ana"]).Header()
		require.Contains(t, h.Get("Content-Security-Policy"), "default-src 'none'; script-src 'self'; style-src 'sha256-", path)
		require.Contains(t, h.Get("Content-Security-Policy"), "frame-ancestors 'none'; base-uri 'none'", path)
		require.Equal(t, "nosniff", h.Get("X-Content-Type-Options"), path)
		require.Equal(t, "no-referrer", h.Get("Referrer-Policy"), path)
		require.Equal(t, "same-origin", h.Get("Cross-Origin-Opener-Policy"), path)
	}
}

func TestTheSessionCookieIsOutOfReachOfScriptsAndOtherSites(t *testing.T) {
	t.Parallel()
	for public, name := range map[string]string{"": sessionCookie, "https://larkmoor.example": "__Host-" + sessionCookie} {
		a, _ := open(t, Options{Public: public})
		w := httptest.NewRecorder()
		v := &visit{w: w, r: httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil), a: a}
		require.NoError(t, v.in("token", "/"))
		c := w.Result().Cookies()[0]
		require.Equal(t, name, c.Name)
		require.True(t, c.HttpOnly)
		require.Equal(t, public != "", c.Secure)
		require.Equal(t, http.SameSiteLaxMode, c.SameSite)
		require.Equal(t, "/", c.Path)
		require.Empty(t, c.Domain)
	}
}

func TestTheDemoIsForThisMachineAlone(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		from, host string
		let        bool
	}{
		{"127.0.0.1:5000", "127.0.0.1:8080", true},
		{"[::1]:5000", "localhost:8080", true},
		{"192.0.2.7:5000", "127.0.0.1:8080", false},
		{"127.0.0.1:5000", "elsewhere.example", false}, // a name made to point here
		{"127.0.0.1:5000", "127.0.0.1.elsewhere.example", false},
	} {
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
		r.RemoteAddr, r.Host = c.from, c.host
		require.Equal(t, c.let, loopback(r), "%+v", c)
	}
}

func TestOneGoesBackOnlyToWhereHeIs(t *testing.T) {
	t.Parallel()
	for to, want := range map[string]string{
		"/jobs/J-1001": "/jobs/J-1001", "/board?q=a": "/board?q=a", "": "/", "//elsewhere.example": "/", "https://elsewhere.example": "/",
		"/\\elsewhere.example": "/", "javascript:alert(1)": "/", "/a\r\nSet-Cookie: b": "/", "board": "/",
	} {
		require.Equal(t, want, local(to, "/"), to)
	}
}

func TestAStrangerIsSpokenToInHisBrowsersLanguage(t *testing.T) {
	t.Parallel()
	spoken := []string{"en", "es"}
	for header, want := range map[string]string{"": "en", "es-MX,es;q=0.9,en;q=0.8": "es", "de, es": "es", "fr": "en", "EN-us": "en"} {
		require.Equal(t, want, accepted(header, spoken), header)
	}
}

func TestBehindAProxyTheLastItNamesIsAsking(t *testing.T) {
	t.Parallel()
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
	r.RemoteAddr = "127.0.0.1:5000"
	r.Header.Set("X-Forwarded-For", "10.0.0.1, 198.51.100.7")
	require.Equal(t, "198.51.100.7", (&Adapter{Options: Options{Public: "https://larkmoor.example"}}).address(r))
	require.Equal(t, "127.0.0.1", (&Adapter{}).address(r), "without one anybody could say so")
	r.RemoteAddr = "192.0.2.7:5000"
	require.Equal(t, "192.0.2.7", (&Adapter{Options: Options{Public: "https://larkmoor.example"}}).address(r))
}
