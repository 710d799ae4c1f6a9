package web

import (
	"net/http"
	"net/url"
	"time"

	"proveout/bot"
	"proveout/bot/signin"
)

const (
	// ticketLasts is how long a browser keeps the ticket a code is good with, and what a
	// sign-in at the company needs; the codes themselves end sooner or then.
	ticketLasts = 10 * time.Minute
	// sessionLasts is how long it keeps a session; the desk ends it when it will.
	sessionLasts = 30 * 24 * time.Hour
)

// signInPage is what a stranger sees.
type signInPage struct {
	To, Name string
	Sent     bool
	Wrong    string
	Company  bool
}

// signIn asks who it is.
func (a *Adapter) signIn(v *visit) error {
	to := local(v.r.FormValue("to"), "/")
	if v.who.ID != "" {
		return v.back(to)
	}
	return v.askWho(http.StatusOK, signInPage{To: to})
}

func (v *visit) askWho(status int, p signInPage) error {
	p.Company = v.a.company != nil
	return v.page(status, "sign-in", v.words.Say("web-sign-in"), p)
}

// sendCode sends him a code, if the shop knows him; the answer is the same if not.
func (a *Adapter) sendCode(v *visit) error {
	p := signInPage{To: local(v.r.FormValue("to"), "/"), Name: v.r.FormValue("who")}
	ticket, err := a.Desk.Ask(v.r.Context(), p.Name, a.address(v.r))
	if bot.CodeOf(err) == bot.CodeLimited {
		p.Wrong = v.words.Say("web-limited")
		return v.askWho(http.StatusTooManyRequests, p)
	}
	if err != nil {
		return err
	}
	v.keep(ticketCookie, ticket, ticketLasts)
	p.Sent = true
	return v.askWho(http.StatusOK, p)
}

// enter lets him in with it.
func (a *Adapter) enter(v *visit) error {
	p := signInPage{To: local(v.r.FormValue("to"), "/"), Name: v.r.FormValue("who"), Sent: true}
	token, err := a.Desk.Enter(v.r.Context(), v.kept(ticketCookie), v.r.FormValue("code"), a.address(v.r), v.r.UserAgent())
	switch bot.CodeOf(err) {
	case bot.CodeInvalid:
		p.Wrong = v.words.Say("web-code-wrong")
		return v.askWho(http.StatusForbidden, p)
	case bot.CodeLimited:
		p.Wrong = v.words.Say("web-limited")
		return v.askWho(http.StatusTooManyRequests, p)
	default:
	}
	if err != nil {
		return err
	}
	v.forget(ticketCookie)
	return v.in(token, p.To)
}

// in lets the browser in and sends it where it wanted to go.
func (v *visit) in(token, to string) error {
	v.keep(sessionCookie, token, sessionLasts)
	return v.back(to)
}

// toCompany sends the browser to the company's own sign-in.
func (a *Adapter) toCompany(v *visit) error {
	if a.company == nil {
		return errNoPage
	}
	to, secrets, err := a.company.begin(v.r.Context())
	if err != nil {
		return err
	}
	v.keep(companyCookie, secrets+"."+url.QueryEscape(local(v.r.FormValue("to"), "/")), ticketLasts)
	return v.back(to)
}

// fromCompany lets in whom it vouches for.
func (a *Adapter) fromCompany(v *visit) error {
	if a.company == nil {
		return errNoPage
	}
	secrets, to := cutLast(v.kept(companyCookie))
	v.forget(companyCookie)
	who, err := a.company.finish(v.r.Context(), v.r.FormValue("code"), v.r.FormValue("state"), secrets)
	if err != nil {
		a.Log.Warn().Err(err).Msg("a sign-in at the company was refused")
		return v.askWho(http.StatusForbidden, signInPage{To: "/", Wrong: v.words.Say("web-company-refused")})
	}
	for _, identity := range who {
		token, err := a.Desk.Admit(v.r.Context(), Provider, identity, v.r.UserAgent())
		if err == nil {
			return v.in(token, local(to, "/"))
		}
		if bot.CodeOf(err) != bot.CodeForbidden {
			return err
		}
	}
	return v.askWho(http.StatusForbidden, signInPage{To: "/", Wrong: v.words.Say("web-company-unknown")})
}

// mePage is where a person is signed in.
type mePage struct {
	Sessions []signin.Session
	Here     string
}

func (a *Adapter) me(v *visit) error {
	p := mePage{Here: v.session}
	if !a.Demo {
		var err error
		if p.Sessions, err = a.Desk.Sessions(v.r.Context(), v.who.ID); err != nil {
			return err
		}
	}
	return v.page(http.StatusOK, "me", v.words.Say("web-me"), p)
}

// signOut ends the session a browser has, another of the person's, or all.
func (a *Adapter) signOut(v *visit) error {
	if a.Demo {
		return errNoPage
	}
	which := v.r.FormValue("session")
	var err error
	switch which {
	case "all":
		err = a.Desk.EndAll(v.r.Context(), v.who.ID)
	case "":
		err = a.Desk.End(v.r.Context(), v.who.ID, v.session)
	default:
		err = a.Desk.End(v.r.Context(), v.who.ID, which)
	}
	if err != nil {
		return err
	}
	if which != "" && which != "all" && which != v.session {
		return v.back("/me")
	}
	v.forget(sessionCookie)
	return v.back("/sign-in")
}
