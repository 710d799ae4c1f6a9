package web

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"strings"
)

//go:embed static pages
var files embed.FS

// asset is a file served as it is, under a name that changes with it.
type asset struct {
	kind     string
	plain    []byte
	squeezed []byte
}

// assets are those files, by the name they are asked for; named gives that name by the
// file's own.
type assets struct {
	by    map[string]asset
	named map[string]string
}

// kinds are the content types of the files there are.
func kinds() map[string]string {
	return map[string]string{
		".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png",
		".webmanifest": "application/manifest+json",
	}
}

func readAssets() (assets, error) {
	out := assets{by: map[string]asset{}, named: map[string]string{}}
	err := fs.WalkDir(files, "static", func(p string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := files.ReadFile(p)
		if err != nil {
			return err
		}
		ext := path.Ext(p)
		kind := kinds()[ext]
		if kind == "" {
			return fmt.Errorf("%s: a file of this kind has no content type; add it to kinds", p)
		}
		squeezed, err := squeeze(b)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(b)
		name := strings.TrimSuffix(path.Base(p), ext) + "." + hex.EncodeToString(sum[:6]) + ext
		out.named[path.Base(p)] = name
		out.by[name] = asset{kind, b, squeezed}
		return nil
	})
	if err != nil {
		return out, fmt.Errorf("reading the files of the pages: %w", err)
	}
	return out, nil
}

func squeeze(b []byte) ([]byte, error) {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	if _, err := z.Write(b); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// forever is how long a file may be kept whose name changes with it.
const forever = "public, max-age=31536000, immutable"

func (f asset) serve(w http.ResponseWriter, r *http.Request, cache string) {
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", cache)
	write(w, r, http.StatusOK, f.plain, f.squeezed)
}

// write answers with a body, squeezed where the browser takes that and it was or can
// be. An error is the browser's having left.
func write(w http.ResponseWriter, r *http.Request, status int, plain, squeezed []byte) {
	h := w.Header()
	h.Add("Vary", "Accept-Encoding")
	if squeezed != nil && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip") {
		h.Set("Content-Encoding", "gzip")
		plain = squeezed
	}
	h.Set("Content-Length", fmt.Sprint(len(plain)))
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		_, _ = w.Write(plain)
	}
}
