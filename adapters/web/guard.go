package web

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"net/http"
	"net/url"

	"proveout/bot"
)

// secured sets what a browser is told about every answer: nothing is loaded, framed or
// guessed that does not come from here. The style stands in the page, so that the page
// is drawn without a second way to us and back, and is let through by its hash.
func secured(style string, next http.Handler) http.Handler {
	policy := "default-src 'none'; script-src 'self'; style-src " + hashOf(style) + "; img-src 'self'; connect-src 'self'; " +
		"manifest-src 'self'; worker-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=()")
		h.Set("Cache-Control", "no-store") // an answer that may be kept says so itself
		next.ServeHTTP(w, r)
	})
}

// hashOf names a style in a policy.
func hashOf(style string) string {
	sum := sha256.Sum256([]byte(style))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

// visit is one request and who makes it.
type visit struct {
	w       http.ResponseWriter
	r       *http.Request
	a       *Adapter
	who     bot.Member // zero: a stranger
	session string     // the id of his session; empty in the demo
	// language he reads, and what is said in it.
	language string
	words    bot.Phrases
	follows  string // where the page is followed from; empty for one that stands still
}

// speaks turns to a language.
func (v *visit) speaks(language string) {
	if words, ok := v.a.words[language]; ok {
		v.language, v.words = language, words
	}
}

// live has the page followed from an address.
func (v *visit) live(address string) *visit {
	v.follows = address
	return v
}

// kind tells apart viewers who do not see a job alike: the desk and the owner may do
// the same to every job, what others may depends on whose it is.
func (v *visit) kind() string {
	if v.who.Role == bot.DispatcherRole || v.who.Role == bot.OwnerRole {
		return "office"
	}
	return v.who.ID
}

// refusal is an answer that is no page: its status and the phrase that says why.
type refusal struct {
	status int
	phrase string
}

// Error is for the log; a person reads the phrase.
func (e *refusal) Error() string { return fmt.Sprintf("%d %s", e.status, e.phrase) }

// The refusals there are before the service is asked.
var (
	errNoPage   error = &refusal{http.StatusNotFound, "web-error-none"}
	errNotYours error = &refusal{http.StatusForbidden, "web-error-forbidden"}
	errUnknown  error = &refusal{http.StatusUnauthorized, "web-error-unknown"}
	errInvalid  error = &refusal{http.StatusBadRequest, "web-error-invalid"}
)

// admit answers a request if the route's rule lets its sender in.
func (a *Adapter) admit(w http.ResponseWriter, r *http.Request, to route) {
	v := &visit{w: w, r: r, a: a}
	err := a.recognise(v)
	v.speaks(a.languageOf(v))
	switch {
	case err != nil:
	case to.who.lets(v.who):
		err = to.answer(v)
	case v.who.ID != "":
		err = errNotYours
	case r.Method == http.MethodGet && r.Header.Get("Accept") != "text/event-stream":
		http.Redirect(w, r, "/sign-in?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		return
	default:
		err = errUnknown
	}
	if err != nil {
		v.refuse(err)
	}
}

// refuse answers with an error as a page in the visitor's language.
func (v *visit) refuse(err error) {
	why, ok := errors.AsType[*refusal](err)
	if !ok {
		why = refusalOf(bot.CodeOf(err))
	}
	if why.status >= http.StatusInternalServerError {
		v.a.Log.Error().Err(err).Str("route", v.r.Pattern).Msg("a page failed")
	}
	if err := v.page(why.status, "error", v.words.Say(why.phrase), v.words.Say(why.phrase)); err != nil {
		v.a.Log.Error().Err(err).Msg("the page of an error failed")
		http.Error(v.w, http.StatusText(why.status), why.status)
	}
}

// refusalOf is how a failure of the service is answered.
func refusalOf(c bot.Code) *refusal {
	switch c {
	case bot.CodeNotFound, bot.CodeForgotten:
		return &refusal{http.StatusNotFound, "web-error-none"}
	case bot.CodeForbidden:
		return &refusal{http.StatusForbidden, "web-error-forbidden"}
	case bot.CodeInvalid:
		return &refusal{http.StatusBadRequest, "web-error-invalid"}
	case bot.CodeClosed:
		return &refusal{http.StatusServiceUnavailable, "web-error-closed"}
	default:
		return &refusal{http.StatusInternalServerError, "web-error-broken"}
	}
}
