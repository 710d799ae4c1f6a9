package web

import "proveout/bot"

// home is where each role begins.
func (a *Adapter) home(v *visit) error {
	switch {
	case v.who.ID == "":
		return v.back("/sign-in")
	case v.who.Role == bot.TechnicianRole:
		return v.back("/talk")
	}
	return v.back("/board")
}

// places are where a visitor may go, for the shell.
func (v *visit) places() []place {
	var out []place
	for _, p := range []struct {
		to, name string
		who      rule
	}{
		{"/board", "web-board", office},
		{"/talk", "web-talk", field},
		{"/knowledge", "web-knowledge", known},
		{"/me", "web-me", known},
	} {
		if p.who.lets(v.who) {
			out = append(out, place{p.to, v.words.Say(p.name), v.r.URL.Path == p.to})
		}
	}
	return out
}

// static serves a file under the name that changes with it.
func (a *Adapter) static(v *visit) error {
	f, ok := a.assets.by[v.r.PathValue("name")]
	if !ok {
		return errNoPage
	}
	f.serve(v.w, v.r, forever)
	return nil
}

// fixed serves a file under a name that browsers keep.
func (a *Adapter) fixed(name string) func(*visit) error {
	f := a.assets.by[a.assets.named[name]]
	return func(v *visit) error {
		f.serve(v.w, v.r, "no-cache")
		return nil
	}
}
