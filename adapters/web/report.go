package web

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
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
	sum := sha256.Sum256(style)
	h := v.w.Header()
	h.Set("Content-Security-Policy", fmt.Sprintf("default-src 'none'; style-src 'sha256-%s'; frame-ancestors 'none'; base-uri 'none'", base64.StdEncoding.EncodeToString(sum[:])))
	h.Set("Content-Type", "text/html; charset=utf-8")
	write(v.w, v.r, http.StatusOK, page.Bytes(), nil)
	return nil
}
