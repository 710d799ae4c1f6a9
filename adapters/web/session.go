package web

import (
	"net/http"
	"slices"
	"strings"

	"proveout/bot"
)

// demoCookie says as whom one looks around in the demo.
const demoCookie = "proveout-demo"

// recognise says who makes a request.
func (a *Adapter) recognise(v *visit) error {
	if a.Demo {
		v.who = a.lookingAs(v.r)
		return nil
	}
	return nil
}

// lookingAs is whom somebody in the demo looks around as: a dispatcher at first.
func (a *Adapter) lookingAs(r *http.Request) bot.Member {
	if c, err := r.Cookie(demoCookie); err == nil {
		if m, err := a.service.Member(c.Value); err == nil {
			return m
		}
	}
	members := a.service.Members()
	for _, m := range members {
		if m.Role == bot.DispatcherRole {
			return m
		}
	}
	if len(members) > 0 {
		return members[0]
	}
	return bot.Member{}
}

// lookAs has one look around as somebody else.
func (a *Adapter) lookAs(v *visit) error {
	m, err := a.service.Member(v.r.FormValue("as"))
	if err != nil {
		return err
	}
	http.SetCookie(v.w, &http.Cookie{Name: demoCookie, Value: m.ID, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	return v.back("/")
}

// languageOf is the one a visitor reads: a stranger's browser says it.
func (a *Adapter) languageOf(v *visit) string {
	if v.who.ID != "" {
		return a.service.Reads(v.who.ID)
	}
	return accepted(v.r.Header.Get("Accept-Language"), a.service.Languages())
}

// still says whether one who follows a page is yet who he was.
func (v *visit) still() bool {
	now := visit{w: v.w, r: v.r, a: v.a}
	return v.a.recognise(&now) == nil && now.who == v.who
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
