package web

import (
	"bytes"
	"context"
	"net/http"
	"net/url"

	"proveout/bot"
	"proveout/bot/ladder"
)

// circuit is a job's circuit as it stands, as a picture beside the page: it is large, and
// changes seldom.
type circuit struct {
	At  string // its address, with what of the job it shows
	Alt string // what is marked on it, for who does not see it
}

// circuitOf says where a job's circuit is shown; base is the address of its page.
func (a *Adapter) circuitOf(ctx context.Context, viewer string, j *bot.JobView, base string) (circuit, error) {
	d, err := a.service.Drawing(ctx, viewer, j.Job)
	if err != nil {
		return circuit{}, err
	}
	return circuit{At: base + "/circuit.svg?of=" + url.QueryEscape(j.Version), Alt: d.Title() + ". " + d.Description()}, nil
}

// circuit draws it, for light or for dark. The address names the state of the job, so
// the picture may be kept.
func (a *Adapter) circuit(v *visit) error {
	d, err := a.service.Drawing(v.r.Context(), v.who.ID, v.r.PathValue("job"))
	if err != nil {
		return err
	}
	look := ladder.Light
	if v.r.FormValue("look") == "dark" {
		look = ladder.Dark
	}
	var svg bytes.Buffer
	if err := d.SVG(&svg, look); err != nil {
		return err
	}
	squeezed, err := squeeze(svg.Bytes())
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "image/svg+xml")
	v.w.Header().Set("Cache-Control", "private, max-age=86400")
	write(v.w, v.r, http.StatusOK, svg.Bytes(), squeezed)
	return nil
}

// ownCircuit draws that of a job a person is the technician of.
func (a *Adapter) ownCircuit(v *visit) error {
	if _, err := a.ownJob(v.r.Context(), v.who.ID, v.r.PathValue("job")); err != nil {
		return err
	}
	return a.circuit(v)
}
