package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// visitor is a browser with its cookies.
type visitor struct {
	t       *testing.T
	a       *Adapter
	cookies map[string]string
}

func (v *visitor) ask(method, path string, form url.Values) *httptest.ResponseRecorder {
	v.t.Helper()
	r := httptest.NewRequestWithContext(v.t.Context(), method, path, strings.NewReader(form.Encode()))
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for name, value := range v.cookies {
		r.AddCookie(&http.Cookie{Name: name, Value: value})
	}
	w := httptest.NewRecorder()
	v.a.ServeHTTP(w, r)
	for _, line := range w.Header().Values("Set-Cookie") {
		c, err := http.ParseSetCookie(line)
		require.NoError(v.t, err)
		if delete(v.cookies, c.Name); c.MaxAge >= 0 {
			v.cookies[c.Name] = c.Value
		}
	}
	return w
}

func visitorOf(t *testing.T, a *Adapter) *visitor {
	t.Helper()
	return &visitor{t, a, map[string]string{}}
}

func TestOneSignsInWithTheCodeHeIsSentAndOutAgain(t *testing.T) {
	t.Parallel()
	a, _ := open(t, Options{})
	v := visitorOf(t, a)
	got := v.ask(http.MethodGet, "/board?sort=open", nil)
	require.Equal(t, "/sign-in?to=%2Fboard%3Fsort%3Dopen", got.Header().Get("Location"))
	require.Equal(t, http.StatusOK, v.ask(http.MethodPost, "/sign-in", url.Values{"who": {"dee"}, "to": {"/board?sort=open"}}).Code)
	code := <-a.service.(shop).codes
	require.Equal(t, http.StatusForbidden, v.ask(http.MethodPost, "/sign-in/code", url.Values{"code": {"x" + code}}).Code)
	got = v.ask(http.MethodPost, "/sign-in/code", url.Values{"code": {code}, "to": {"/board?sort=open"}})
	require.Equal(t, http.StatusSeeOther, got.Code)
	require.Equal(t, "/board?sort=open", got.Header().Get("Location"), "on to where he wanted to go")
	require.Len(t, v.cookies, 1, "the ticket has done its work")
	require.Equal(t, http.StatusOK, v.ask(http.MethodGet, "/me", nil).Code)

	another := visitorOf(t, a)
	require.Equal(t, http.StatusForbidden, another.ask(http.MethodPost, "/sign-in/code", url.Values{"code": {code}}).Code, "a code alone lets nobody in")

	session := v.cookies[sessionCookie]
	require.Equal(t, "/sign-in", v.ask(http.MethodPost, "/sign-out", nil).Header().Get("Location"))
	require.Empty(t, v.cookies)
	v.cookies[sessionCookie] = session
	require.Equal(t, http.StatusSeeOther, v.ask(http.MethodGet, "/me", nil).Code, "the cookie is worth nothing any more")
}

func TestWhetherSomebodyIsKnownIsNotTold(t *testing.T) {
	t.Parallel()
	a, _ := open(t, Options{})
	known, unknown := visitorOf(t, a), visitorOf(t, a)
	one := known.ask(http.MethodPost, "/sign-in", url.Values{"who": {"dee"}})
	other := unknown.ask(http.MethodPost, "/sign-in", url.Values{"who": {"mal"}})
	require.Equal(t, one.Code, other.Code)
	require.Equal(t, one.Body.String(), strings.ReplaceAll(other.Body.String(), `"mal"`, `"dee"`))
	require.NotEmpty(t, unknown.cookies[ticketCookie])
	<-a.service.(shop).codes
}

func TestWhoAsksTooOftenIsToldToWait(t *testing.T) {
	t.Parallel()
	a, _ := open(t, Options{})
	v := visitorOf(t, a)
	last := 0
	for range 12 {
		last = v.ask(http.MethodPost, "/sign-in", url.Values{"who": {"mal"}}).Code
	}
	require.Equal(t, http.StatusTooManyRequests, last)
}

func TestASessionEndedElsewhereEndsWhatFollows(t *testing.T) {
	t.Parallel()
	a, sessions := open(t, Options{})
	r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/board/live", nil)
	r.AddCookie(&http.Cookie{Name: sessionCookie, Value: sessions["dee"]})
	v := &visit{w: httptest.NewRecorder(), r: r, a: a}
	require.NoError(t, a.recognise(v))
	require.Equal(t, "dee", v.who.ID)
	require.True(t, v.still())
	require.NoError(t, a.Desk.EndAll(t.Context(), "dee"))
	require.False(t, v.still())
}

func TestOneSignsOutOfHisOwnSessionsAlone(t *testing.T) {
	t.Parallel()
	a, sessions := open(t, Options{})
	theirs, err := a.Desk.Sessions(t.Context(), "sam")
	require.NoError(t, err)
	v := visitorOf(t, a)
	v.cookies[sessionCookie] = sessions["dee"]
	require.Equal(t, http.StatusNotFound, v.ask(http.MethodPost, "/sign-out", url.Values{"session": {theirs[0].ID}}).Code)
	require.Equal(t, "/sign-in", v.ask(http.MethodPost, "/sign-out", url.Values{"session": {"all"}}).Header().Get("Location"))
	left, err := a.Desk.Sessions(t.Context(), "dee")
	require.NoError(t, err)
	require.Empty(t, left)
}

func TestThePagesLetInWhomTheCompanyVouchesFor(t *testing.T) {
	t.Parallel()
	p := openProvider(t)
	a, _ := open(t, Options{Public: "http://larkmoor.example", Company: Company{Issuer: p.URL, Client: "larkmoor", Secret: "hush"}})
	v := visitorOf(t, a)
	to := v.ask(http.MethodGet, "/sign-in/company?to=/board", nil).Header().Get("Location")
	state := p.authorize(t, to)
	p.claims["sub"] = "sam"
	got := v.ask(http.MethodGet, "/sign-in/company/back?code=the-code&state="+state, nil)
	require.Equal(t, "/board", got.Header().Get("Location"))
	require.NotEmpty(t, v.cookies[sessionCookie])
	require.Empty(t, v.cookies[companyCookie])

	stranger := visitorOf(t, a)
	to = stranger.ask(http.MethodGet, "/sign-in/company", nil).Header().Get("Location")
	state = p.authorize(t, to)
	p.claims["sub"] = "mal"
	require.Equal(t, http.StatusForbidden, stranger.ask(http.MethodGet, "/sign-in/company/back?code=the-code&state="+state, nil).Code)
	require.Empty(t, stranger.cookies[sessionCookie])
	require.Equal(t, http.StatusForbidden, stranger.ask(http.MethodGet, "/sign-in/company/back?code=the-code&state="+state, nil).Code, "nor again")
}
