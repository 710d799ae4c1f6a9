package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/rs/zerolog"

	"proveout/bot"
	"proveout/bot/ladder"
	"proveout/bot/signin"
)

// Channel is the name of this channel in messages, people's identities and the
// configuration.
const Channel = bot.Web

// Options say how the pages are reached.
type Options struct {
	// Public is the address people know them by, such as https://larkmoor.example; empty
	// when they are asked for at the listening address itself. With https, cookies travel
	// over nothing else.
	Public string
	// Demo lets everybody in as anybody, on a loopback address alone.
	Demo bool
	// Desk lets people in; the demo has none.
	Desk *signin.Desk
	// Company is the shop's own sign-in, besides the code.
	Company Company
	// Report writes a job out as a page to print, in a language.
	Report func(ctx context.Context, job, language string, w io.Writer) error
	// Zone is the shop's time zone (UTC).
	Zone *time.Location
	// Log takes what fails; it names no text and nobody's number.
	Log zerolog.Logger
}

// Origin is the public address as a browser writes it, empty when there is none. The
// error says that it is no address.
func (o Options) Origin() (string, error) {
	if o.Public == "" {
		return "", nil
	}
	u, err := url.Parse(o.Public)
	if err != nil || u.Host == "" || (u.Scheme != "https" && u.Scheme != "http") || strings.Trim(u.Path, "/") != "" {
		return "", fmt.Errorf("the public address %q is none; write it as https://larkmoor.example", o.Public)
	}
	return u.Scheme + "://" + u.Host, nil
}

// Adapter is the channel of the pages: an http.Handler to mount at the root. Nothing is
// sent to it: what is said on a job stands in its record, of which the pages are made.
type Adapter struct {
	Options
	service Service
	assets  assets
	style   string
	pages   map[string]pages
	words   map[string]bot.Phrases
	feeds   feeds
	origin  *http.CrossOriginProtection
	secure  bool
	company *company
	serve   http.Handler
	ended   chan struct{}
}

// New makes the adapter. The error names the setting or the page at fault.
func New(service Service, o Options) (*Adapter, error) {
	if o.Zone == nil {
		o.Zone = time.UTC
	}
	a := &Adapter{
		Options: o, service: service, pages: map[string]pages{}, words: map[string]bot.Phrases{},
		origin: http.NewCrossOriginProtection(), ended: make(chan struct{}),
	}
	var err error
	if a.Public, err = o.Origin(); err != nil {
		return nil, err
	}
	if a.Public != "" {
		a.secure = strings.HasPrefix(a.Public, "https:")
		if err := a.origin.AddTrustedOrigin(a.Public); err != nil {
			return nil, fmt.Errorf("the public address: %w", err)
		}
	}
	if o.Company.Issuer != "" {
		if a.Public == "" {
			return nil, errors.New("the company's sign-in sends people back to the public address; name it")
		}
		a.company = &company{Company: o.Company, back: a.Public + "/sign-in/company/back"}
	}
	if a.assets, err = readAssets(); err != nil {
		return nil, err
	}
	style, err := files.ReadFile("pages/style.css")
	if err != nil {
		return nil, fmt.Errorf("reading the style of the pages: %w", err)
	}
	a.style = string(style) + ladder.CSS()
	for _, language := range service.Languages() {
		a.words[language] = service.Words(language)
		if a.pages[language], err = a.readPages(language); err != nil {
			return nil, err
		}
	}
	a.feeds = feeds{by: map[string]*feed{}, now: time.Now, failed: func(key string, err error) {
		a.Log.Error().Err(err).Str("feed", key).Msg("a live page failed")
	}}
	a.serve = a.handler(a.routes())
	return a, nil
}

// ServeHTTP answers a request.
func (a *Adapter) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if a.Demo && !loopback(r) {
		http.Error(w, "the demo is for this machine alone; ask for it as localhost", http.StatusForbidden)
		return
	}
	a.serve.ServeHTTP(w, r)
}

// loopback says whether a request comes from this machine and asks for it by such a
// name: a page elsewhere that had its own name point here would not.
func loopback(r *http.Request) bool {
	local := func(hostport string) bool {
		host, _, err := net.SplitHostPort(hostport)
		if err != nil {
			host = hostport
		}
		ip := net.ParseIP(strings.Trim(host, "[]"))
		return host == "localhost" || ip != nil && ip.IsLoopback()
	}
	return local(r.RemoteAddr) && local(r.Host)
}

// Run ends the live pages when the context ends, so that the server can, and waits for
// the codes being sent.
func (a *Adapter) Run(ctx context.Context) error {
	<-ctx.Done()
	close(a.ended)
	a.feeds.end()
	if a.Desk != nil {
		a.Desk.Settle()
	}
	return nil
}
