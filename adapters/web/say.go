package web

import (
	"crypto/rand"
	"net/url"
	"strings"
	"time"

	"proveout/bot"
)

// The bounds of what is sent from a page.
const (
	mostText = 8000
	mostID   = 64
)

// said is a message from a page, or the usual answer to a question pressed instead. Its
// id is the page's own, so that one sent twice is one; the sender's is before it, so
// that nobody takes another's.
func (v *visit) said(job string) (bot.Inbound, error) {
	text, act, id := strings.TrimSpace(v.r.FormValue("text")), v.r.FormValue("act"), v.r.FormValue("id")
	in := bot.Inbound{
		Channel: Channel, ID: v.who.ID + "/" + id, Conversation: v.who.ID, Thread: job, From: v.who.ID, Kind: bot.Said, Text: text,
	}
	if strings.HasPrefix(act, "say:") {
		in.Kind, in.Action, in.Text = bot.Pressed, act, ""
	}
	if text+in.Action == "" || len(text)+len(act) > mostText || id == "" || len(id) > mostID {
		return bot.Inbound{}, errInvalid
	}
	// A message that waited for a signal says when it was written.
	if at, err := time.Parse(time.RFC3339, v.r.FormValue("at")); err == nil && at.Before(time.Now()) {
		in.At = at
	}
	return in, nil
}

// say writes into a job's thread.
func (a *Adapter) say(v *visit) error {
	job := v.r.PathValue("job")
	in, err := v.said(job)
	if err != nil {
		return err
	}
	if err := a.service.Receive(v.r.Context(), in); err != nil {
		return err
	}
	return v.back(local(v.r.FormValue("back"), "/jobs/"+job))
}

// act does what a button or a form on a job says.
func (a *Adapter) act(v *visit) error {
	job, act := v.r.PathValue("job"), bot.Act(v.r.FormValue("act"))
	what := strings.TrimSpace(v.r.FormValue("what"))
	if at, err := time.ParseInLocation(localTime, what, a.Zone); act == bot.ActSlot && err == nil {
		what = at.Format(time.RFC3339)
	}
	in := bot.Inbound{
		Channel: Channel, ID: v.who.ID + "/" + rand.Text(), Conversation: v.who.ID, From: v.who.ID,
		Kind: bot.Pressed, Action: string(act) + ":" + job,
	}
	if what != "" {
		in.Action += ":" + what
	}
	if err := a.service.Receive(v.r.Context(), in); err != nil {
		return err
	}
	if why := strings.TrimSpace(v.r.FormValue("reason")); act == bot.ActOverrule && why != "" && len(why) <= mostText {
		in.ID, in.Kind, in.Action, in.Thread, in.Text = in.ID+"/why", bot.Said, "", job, why
		if err := a.service.Receive(v.r.Context(), in); err != nil {
			return err
		}
	}
	return v.back(local(v.r.FormValue("back"), "/jobs/"+job))
}

// local is where to go back to, if that is here; else the other.
func local(to, other string) string {
	u, err := url.Parse(to)
	if err != nil || u.Scheme != "" || u.Host != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.ContainsAny(to, "\\\r\n") {
		return other
	}
	return to
}
