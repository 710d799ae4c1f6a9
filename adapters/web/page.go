package web

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"
	"time"

	"proveout/bot"
)

// pages are the templates of a language, by page.
type pages map[string]*template.Template

// readPages reads the templates of a language: each page fills the shell, and may use
// the parts.
func (a *Adapter) readPages(language string) (pages, error) {
	funcs := a.funcs(language)
	shared, err := template.New("shared").Funcs(funcs).ParseFS(files, "pages/shell.html", "pages/parts/*.html")
	if err != nil {
		return nil, fmt.Errorf("reading the pages: %w", err)
	}
	names, err := fs.Glob(files, "pages/*.html")
	if err != nil {
		return nil, err
	}
	out := pages{}
	for _, name := range names {
		page := strings.TrimSuffix(path.Base(name), ".html")
		if page == "shell" {
			continue
		}
		one, err := shared.Clone()
		if err == nil {
			out[page], err = one.ParseFS(files, name)
		}
		if err != nil {
			return nil, fmt.Errorf("reading the page %s: %w", page, err)
		}
	}
	return out, nil
}

// funcs are what templates may call.
func (a *Adapter) funcs(language string) template.FuncMap {
	words := a.words[language]
	clock := func(layout string) func(time.Time) string {
		return func(t time.Time) string { return t.In(a.Zone).Format(layout) }
	}
	return template.FuncMap{
		"say": func(id string, pairs ...any) string {
			slots := make([]string, len(pairs))
			for i := range pairs {
				slots[i] = fmt.Sprint(pairs[i])
			}
			return words.Say(id, slots...)
		},
		"reason":     func(id string) string { return words.Or("reason-"+id, id) },
		"role":       func(r bot.Role) string { return words.Say("web-role-" + string(r)) },
		"sorting":    func(by string) string { return words.Say("web-sort-" + by) },
		"waiting":    func(r bot.Role, n int) string { return words.Say("web-waiting-"+string(r), "n", strconv.Itoa(n)) },
		"lang":       func() string { return language },
		"asset":      func(name string) string { return "/static/" + a.assets.named[name] },
		"style":      func() template.CSS { return template.CSS(a.style) }, // ours
		"percent":    words.Percent,
		"bar":        bar,
		"fahrenheit": func(t *float64) string { return fmt.Sprintf("%.0f °F", *t) },
		"beside":     beside,
		"dial":       dial,
		"join":       func(list []string) string { return strings.Join(list, ", ") },
		"few": func(list []string) string {
			const most = 4
			if rest := len(list) - most; rest > 1 {
				return words.Say("web-few", "some", strings.Join(list[:most], ", "), "n", strconv.Itoa(rest))
			}
			return strings.Join(list, ", ")
		},
		"inc":     func(n int) int { return n + 1 },
		"time":    clock("15:04"),
		"date":    clock("2006-01-02"),
		"local":   func(t time.Time) string { return clock(localTime)(t) },
		"once":    rand.Text,
		"compose": func(to, label, send string) compose { return compose{to, label, send} },
	}
}

// compose is where something is written: where it is sent, and what its label and
// its button say.
type compose struct{ To, Label, Send string }

// localTime is how a form's field of a time writes it.
const localTime = "2006-01-02T15:04"

// frame is what the shell shows around a page.
type frame struct {
	Shop, Title, Live string
	Who               bot.Member
	Places            []place
	Demo              []bot.Member // the people to look around as; empty when it is in earnest
	Body              any
}

// place is somewhere the visitor may go.
type place struct {
	To, Name string
	Here     bool
}

// page answers with a page.
func (v *visit) page(status int, name, title string, body any) error {
	f := frame{Shop: v.a.service.Shop(), Title: title, Live: v.follows, Who: v.who, Places: v.places(), Body: body}
	if v.a.Demo {
		f.Demo = v.a.service.Members()
	}
	html, err := v.a.render(v.language, name, "shell", f)
	if err != nil {
		return err
	}
	squeezed, err := squeeze(html)
	if err != nil {
		return err
	}
	v.w.Header().Set("Content-Type", "text/html; charset=utf-8")
	write(v.w, v.r, status, html, squeezed)
	return nil
}

// render fills a page's template or a part of it.
func (a *Adapter) render(language, page, part string, data any) ([]byte, error) {
	var b bytes.Buffer
	if err := a.pages[language][page].ExecuteTemplate(&b, part, data); err != nil {
		return nil, fmt.Errorf("filling the page %s: %w", page, err)
	}
	return b.Bytes(), nil
}

// back sends the browser on after something was done.
func (v *visit) back(to string) error {
	http.Redirect(v.w, v.r, to, http.StatusSeeOther)
	return nil
}
