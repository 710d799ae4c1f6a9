package web

import (
	"bytes"
	"net/http"
)

// report shows a job written out for the customer and the file, to print.
func (a *Adapter) report(v *visit) error {
	j, err := a.service.JobView(v.r.Context(), v.who.ID, v.r.PathValue("job"))
	if err != nil {
		return err
	}
	var page bytes.Buffer
	if err := a.Report(v.r.Context(), j.Job, v.language, &page); err != nil {
		return err
	}
	// It is complete in itself, as a file has to be, so its own style is let through.
	_, style, _ := bytes.Cut(page.Bytes(), []byte("<style>"))
	style, _, _ = bytes.Cut(style, []byte("</style>"))
	h := v.w.Header()
	h.Set("Content-Security-Policy", "default-src 'none'; style-src "+hashOf(string(style))+"; frame-ancestors 'none'; base-uri 'none'")
	h.Set("Content-Type", "text/html; charset=utf-8")
	write(v.w, v.r, http.StatusOK, page.Bytes(), nil)
	return nil
}
