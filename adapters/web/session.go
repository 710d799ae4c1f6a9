package web

import (
	"net"
	"net/http"
	"slices"
	"strings"
	"time"

	"proveout/bot"
)

// The cookies: the session, the ticket a code is good with, what a sign-in at the
// company keeps meanwhile, and whom one looks around as in the demo.
const (
	sessionCookie = "proveout"
	ticketCookie  = "proveout-ticket"
	companyCookie = "proveout-company"
	demoCookie    = "proveout-demo"
)

// cookie names one: over TLS by the prefix that binds it to this very host.
func (a *Adapter) cookie(name string) string {
	if a.secure {
		return "__Host-" + name
	}
	return name
}

// keep has the browser keep a cookie for a while. It comes back with
// a link from a chat, and with no form of another site.
func (v *visit) keep(name, value string, lasts time.Duration) {
	http.SetCookie(v.w, &http.Cookie{
		Name: v.a.cookie(name), Value: value, Path: "/", MaxAge: int(lasts / time.Second), Secure: v.a.secure, HttpOnly: true,
		SameSite: http.SameSiteLaxMode,
	})
}

// forget takes a cookie away.
func (v *visit) forget(name string) {
	http.SetCookie(v.w, &http.Cookie{Name: v.a.cookie(name), Path: "/", MaxAge: -1, Secure: v.a.secure, HttpOnly: true, SameSite: http.SameSiteLaxMode})
}

// kept is what a cookie holds; empty without it.
func (v *visit) kept(name string) string {
	c, err := v.r.Cookie(v.a.cookie(name))
	if err != nil {
		return ""
	}
	return c.Value
}

// recognise says who makes a request.
func (a *Adapter) recognise(v *visit) error {
	if a.Demo {
		v.who = a.lookingAs(v)
		return nil
	}
	token := v.kept(sessionCookie)
	if token == "" {
		return nil
	}
	session, err := a.Desk.Session(v.r.Context(), token)
	switch {
	case bot.CodeOf(err) == bot.CodeSignedOut:
		return nil
	case err != nil:
		return err
	}
	v.who, v.session = session.Who, session.ID
	return nil
}

// still says whether one who follows a page is yet who he was.
func (v *visit) still() bool {
	now := visit{w: v.w, r: v.r, a: v.a}
	return v.a.recognise(&now) == nil && now.who == v.who
}

// lookingAs is whom somebody in the demo looks around as: a dispatcher at first.
func (a *Adapter) lookingAs(v *visit) bot.Member {
	if m, ok := a.service.Colleague(v.kept(demoCookie)); ok {
		return m
	}
	members := a.service.Members()
	if at := slices.IndexFunc(members, func(m bot.Member) bool { return m.Role == bot.DispatcherRole }); at >= 0 {
		return members[at]
	}
	return members[0]
}

// lookAs has one look around as somebody else.
func (a *Adapter) lookAs(v *visit) error {
	m, ok := a.service.Colleague(v.r.FormValue("as"))
	if !ok {
		return errInvalid
	}
	v.keep(demoCookie, m.ID, 24*time.Hour)
	return v.back("/")
}

// languageOf is the one a visitor reads: a stranger's browser says it.
func (a *Adapter) languageOf(v *visit) string {
	if v.who.ID != "" {
		return a.service.Reads(v.who.ID)
	}
	return accepted(v.r.Header.Get("Accept-Language"), a.service.Languages())
}

// accepted is the first of a browser's languages that is spoken here, else the first
// spoken. It heeds their order, as browsers send them by preference.
func accepted(header string, spoken []string) string {
	for one := range strings.SplitSeq(header, ",") {
		tag, _, _ := strings.Cut(strings.TrimSpace(one), ";")
		tag, _, _ = strings.Cut(strings.ToLower(tag), "-")
		if slices.Contains(spoken, tag) {
			return tag
		}
	}
	return spoken[0]
}

// address is where a request comes from. Behind a proxy, which is on this machine and
// the reason for a public address, the proxy says it, last in its list.
func (a *Adapter) address(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	told := r.Header.Values("X-Forwarded-For")
	if ip := net.ParseIP(host); a.Public == "" || ip == nil || !ip.IsLoopback() || len(told) == 0 {
		return host
	}
	list := strings.Split(told[len(told)-1], ",")
	return strings.TrimSpace(list[len(list)-1])
}
