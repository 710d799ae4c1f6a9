package sms

import (
	"fmt"
	"maps"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"proveout/bot"
)

// The fields a hook may name.
var (
	textFields    = []string{"sender", "recipient", "text", "id", "time", "reference", "part", "parts"}
	receiptFields = []string{"id", "status", "reason"}
)

// placeholder is what is filled in in a value that is sent.
var placeholder = regexp.MustCompile(`\{([a-z-]+)(?::([^{}]*))?\}`)

// filled are the placeholders there are.
var filled = []string{"to", "from", "text", "id", "to-digits", "from-digits", "secret"}

// ReadGateway reads the description of a gateway and fills in what was left out. The
// error holds every mistake with its line and its mend.
func ReadGateway(path string) (Gateway, error) {
	var g Gateway
	src, err := bot.ReadSource(path, "description of a gateway", "see deploy/sms/README.md for what may stand there", &g)
	if err != nil {
		return Gateway{}, err
	}
	c := checker{src, &g}
	c.hook("receive", &g.Receive, textFields, "sender", "text")
	c.text()
	if g.Receipt != nil {
		c.hook("receipt", g.Receipt, receiptFields, "id", "status")
		c.receipt()
	}
	c.send()
	if err := src.Err(); err != nil {
		return Gateway{}, err
	}
	return g, nil
}

// checker looks for mistakes in a description and fills in defaults.
type checker struct {
	*bot.Source
	g *Gateway
}

func oneOf(words ...string) string { return "write one of " + strings.Join(words, ", ") }

// hook checks what receipts and texts have in common.
func (c *checker) hook(at string, h *Hook, known []string, needed ...string) {
	if !strings.HasPrefix(h.Path, "/") || strings.ContainsAny(h.Path, "?{} ") {
		c.Fail(at+"/path", strconv.Quote(h.Path)+" is no path", "write it as /sms")
	}
	h.Method = strings.ToUpper(orElse(h.Method, http.MethodPost))
	if h.Method != http.MethodPost && h.Method != http.MethodGet {
		c.Fail(at+"/method", "nothing comes in by "+h.Method, oneOf("POST", "GET"))
	}
	if h.Body == "" && h.Method == http.MethodGet {
		h.Body = Query
	}
	switch {
	case !slices.Contains([]string{JSON, Form, Query}, h.Body):
		c.Fail(at+"/body", "it is not said how the fields come in", oneOf(JSON, Form, Query))
	case h.Method == http.MethodGet && h.Body != Query:
		c.Fail(at+"/body", "a GET has no body", "write query, or POST as the method")
	case h.Each != "" && h.Body != JSON:
		c.Fail(at+"/each", "only JSON holds several", "leave it out")
	}
	if h.Largest == 0 {
		h.Largest = 1 << 16
	}
	if h.Largest < 0 || h.Largest > 1<<24 {
		c.Fail(at+"/largest", "a body may have from 1 byte to 16 MB", "write the bytes, or leave it out for 65536")
	}
	for _, name := range slices.Sorted(maps.Keys(h.Fields)) {
		if !slices.Contains(known, name) {
			c.Fail(at+"/fields/"+name, "there is no field "+strconv.Quote(name), oneOf(known...))
		}
	}
	for _, name := range needed {
		if h.Fields[name] == "" {
			c.Fail(at+"/fields", "the field "+name+" is missing", "write "+name+": and the name the gateway gives it")
		}
	}
	c.allow(at, h)
	if h.Answer.Status == 0 {
		h.Answer.Status = http.StatusOK
	}
	if h.Answer.Status/100 != 2 {
		c.Fail(at+"/answer/status", "the answer says that it was taken, which is a status of 2..", "write 200 or 204")
	}
	c.auth(at+"/auth", &h.Auth)
	if n := h.Auth.kinds(); n != 1 {
		c.Fail(at+"/auth", "anybody could say anything in anybody's name", "write one of signature:, basic: and bearer:")
	}
}

func (c *checker) allow(at string, h *Hook) {
	for i, text := range h.Allow {
		if _, err := netip.ParsePrefix(text); err == nil {
			continue
		}
		a, err := netip.ParseAddr(text)
		if err != nil {
			c.Fail(at+"/allow", strconv.Quote(text)+" is no address and no network", "write it as 192.0.2.7 or 192.0.2.0/24")
			continue
		}
		h.Allow[i] = netip.PrefixFrom(a, a.BitLen()).String()
	}
}

// auth checks how a request shows who made it.
func (c *checker) auth(at string, a *Auth) {
	secret := func(at, name string) {
		if name == "" {
			c.Fail(at, "the secret has no name", "write the name it has under channels/sms/secrets")
		}
	}
	if b := a.Basic; b != nil {
		secret(at+"/basic", b.Password)
		if b.User == "" {
			c.Fail(at+"/basic", "the user is missing", "write user:")
		}
	}
	if a.Bearer != nil {
		secret(at+"/bearer", a.Bearer.Token)
	}
	s := a.Signature
	if s == nil {
		return
	}
	at += "/signature"
	secret(at, s.Secret)
	if s.Header == "" {
		c.Fail(at, "it is not said which header holds the signature", "write header:")
	}
	if s.Timestamp == "" {
		c.Fail(at, "a request caught on the way could be played again", "write timestamp: and the header that holds the second it was signed at")
	}
	if s.Encoding = orElse(s.Encoding, "hex"); s.Encoding != "hex" && s.Encoding != "base64" {
		c.Fail(at+"/encoding", "a signature is not written in "+s.Encoding, oneOf("hex", "base64"))
	}
	if s.Window == 0 {
		s.Window = 5 * time.Minute
	}
	if s.Window < time.Second || s.Window > time.Hour {
		c.Fail(at+"/window", "a window is from a second to an hour", "write 5m")
	}
	s.Over = orElse(s.Over, "{timestamp}.{body}")
	if !strings.Contains(s.Over, "{timestamp}") || !strings.Contains(s.Over, "{body}") {
		c.Fail(at+"/over", "what is signed leaves out the time or the body, so that either could be changed", "write it with {timestamp} and {body} in it")
	}
}

// text checks what only texts have.
func (c *checker) text() {
	h := &c.g.Receive
	if h.Fields["id"] == "" && h.Fields["time"] == "" {
		c.Fail("receive/fields", "a text delivered twice could not be told from two alike", "name the field with the gateway's id: or the time: of sending")
	}
	if n := countNamed(h, "reference", "part", "parts"); n != 0 && n != 3 {
		c.Fail("receive/fields", "a long text cannot be put together", "name all of reference, part and parts, or none")
	}
	if h.Fields["time"] != "" {
		if _, err := parseTime(h.TimeFormat, sampleTime(h.TimeFormat)); err != nil {
			c.Fail("receive/time-format", strconv.Quote(h.TimeFormat)+" is no form of a time", "write unix, unix-ms, rfc3339, or the moment 2006-01-02 15:04:05 as the gateway would write it")
		}
	}
}

func countNamed(h *Hook, names ...string) int {
	n := 0
	for _, name := range names {
		if h.Fields[name] != "" {
			n++
		}
	}
	return n
}

// receipt checks what only receipts have.
func (c *checker) receipt() {
	h := c.g.Receipt
	if h.Path == c.g.Receive.Path {
		c.Fail("receipt/path", "texts come to the same path", "give receipts their own")
	}
	if len(h.Delivered) == 0 || len(h.Failed) == 0 {
		c.Fail("receipt", "it is not said which statuses mean delivered and which failed", "write delivered: and failed:, and pending: for those that say nothing yet")
	}
	meaning := map[string]string{}
	for _, kind := range []struct {
		name     string
		statuses []string
	}{{"delivered", h.Delivered}, {"failed", h.Failed}, {"pending", h.Pending}} {
		for _, s := range kind.statuses {
			if was := meaning[s]; was != "" {
				c.Fail("receipt/"+kind.name, "the status "+strconv.Quote(s)+" means "+was+" too", "write it once")
			}
			meaning[s] = kind.name
		}
	}
}

// send checks how a text is sent.
func (c *checker) send() {
	s := &c.g.Send
	s.Method = strings.ToUpper(orElse(s.Method, http.MethodPost))
	if s.Method != http.MethodPost && s.Method != http.MethodGet {
		c.Fail("send/method", "nothing is sent by "+s.Method, oneOf("POST", "GET"))
	}
	if !slices.Contains([]string{JSON, Form, Query, Text}, s.Body) {
		c.Fail("send/body", "it is not said how the fields are sent", oneOf(JSON, Form, Query, Text))
	}
	if s.Method == http.MethodGet && s.Body != Query {
		c.Fail("send/body", "a GET has no body", "write query, or POST as the method")
	}
	if s.MostParts == 0 {
		s.MostParts = 10
	}
	if s.MostParts < 1 || s.MostParts > 255 {
		c.Fail("send/most-parts", "a text has from 1 to 255 parts", "write how many the gateway takes at once")
	}
	c.auth("send/auth", &s.Auth)
	c.address()
	said := c.values("send/url", s.URL) + c.values("send/fields", s.Fields) + c.values("send/headers", s.Headers) +
		c.values("send/unicode", s.Unicode.Fields) + c.values("send/unicode", s.Unicode.Headers)
	if s.Body != Text && !strings.Contains(said, "{text}") {
		c.Fail("send/fields", "the text itself is not sent", "put {text} in one of the fields")
	}
	if !strings.Contains(said, "{to}") && !strings.Contains(said, "{to-digits}") {
		c.Fail("send/fields", "it is not said to whom", "put {to} in one of the fields")
	}
	if c.g.Receipt != nil && s.Answer.ID == "" && !strings.Contains(said, "{id}") {
		c.Fail("send", "a receipt could not be told what it is of", "say where the answer holds the id, as answer: {id: …}, or send {id} for the gateway to give back")
	}
	if s.Body != JSON {
		for _, name := range slices.Sorted(maps.Keys(s.Fields)) {
			switch s.Fields[name].(type) {
			case map[string]any, []any:
				c.Fail("send/fields/"+name, "a field of a form is one value", "write text, or json as the body")
			}
		}
	}
}

// address checks where to: secrets and texts cross no open network.
func (c *checker) address() {
	u, err := url.Parse(placeholder.ReplaceAllString(c.g.Send.URL, "x"))
	switch {
	case err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https":
		c.Fail("send/url", "it is not said where the gateway is", "write url: and its address, beginning with https://")
	case u.Scheme == "http" && !loopback(u.Hostname()):
		c.Fail("send/url", "secrets and texts would cross the network in the open", "write https://, or run the gateway on this machine")
	}
}

func loopback(host string) bool {
	a := net.ParseIP(host)
	return host == "localhost" || a != nil && a.IsLoopback()
}

// values checks the placeholders in what is sent, and gives all of it.
func (c *checker) values(at string, v any) string {
	all := texts(v)
	for _, text := range all {
		for _, m := range placeholder.FindAllStringSubmatch(text, -1) {
			switch {
			case !slices.Contains(filled, m[1]):
				c.Fail(at, "nothing is filled in for "+m[0], "write one of {to}, {from}, {text}, {id}, {to-digits}, {from-digits}, {secret:NAME}")
			case (m[1] == "secret") != (m[2] != ""):
				c.Fail(at, m[0]+" names no secret", "write {secret:NAME}")
			}
		}
	}
	return strings.Join(all, "\n")
}

// texts are those in a value as it was read.
func texts(v any) []string {
	var out []string
	switch v := v.(type) {
	case string:
		out = []string{v}
	case map[string]string:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			out = append(out, v[k])
		}
	case map[string]any:
		for _, k := range slices.Sorted(maps.Keys(v)) {
			out = append(out, texts(v[k])...)
		}
	case []any:
		for _, one := range v {
			out = append(out, texts(one)...)
		}
	}
	return out
}

// InParts says whether the gateway hands on long texts in parts.
func (g *Gateway) InParts() bool { return g.Receive.Fields["parts"] != "" }

// Secrets are the names of the secrets the description wants.
func (g *Gateway) Secrets() []string {
	named := map[string]bool{}
	auths := []Auth{g.Receive.Auth, g.Send.Auth}
	if g.Receipt != nil {
		auths = append(auths, g.Receipt.Auth)
	}
	for _, a := range auths {
		if a.Signature != nil {
			named[a.Signature.Secret] = true
		}
		if a.Basic != nil {
			named[a.Basic.Password] = true
		}
		if a.Bearer != nil {
			named[a.Bearer.Token] = true
		}
	}
	for _, v := range []any{g.Send.URL, g.Send.Fields, g.Send.Headers, g.Send.Unicode.Fields, g.Send.Unicode.Headers} {
		for _, text := range texts(v) {
			for _, m := range placeholder.FindAllStringSubmatch(text, -1) {
				if m[1] == "secret" {
					named[m[2]] = true
				}
			}
		}
	}
	return slices.Sorted(maps.Keys(named))
}

// kinds is how many ways are given.
func (a *Auth) kinds() int {
	n := 0
	for _, given := range []bool{a.Signature != nil, a.Basic != nil, a.Bearer != nil} {
		if given {
			n++
		}
	}
	return n
}

func orElse(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// The forms of a time that are no layout.
const (
	unixSeconds = "unix"
	unixMillis  = "unix-ms"
	rfc3339     = "rfc3339"
)

// parseTime reads a time in one of the forms.
func parseTime(format, text string) (time.Time, error) {
	switch format {
	case unixSeconds, unixMillis:
		n, err := strconv.ParseInt(text, 10, 64)
		if err != nil {
			return time.Time{}, fmt.Errorf("reading a time: it is no whole number")
		}
		if format == unixMillis {
			return time.UnixMilli(n).UTC(), nil
		}
		return time.Unix(n, 0).UTC(), nil
	case rfc3339:
		format = time.RFC3339
	}
	t, err := time.Parse(format, text)
	if err != nil {
		return time.Time{}, fmt.Errorf("reading a time: it is not written as %s", format)
	}
	return t.UTC(), nil
}

// sampleTime is a time as it would be written in a form; a form that says too little
// does not give it back.
func sampleTime(format string) string {
	switch format {
	case unixSeconds, unixMillis:
		return "1"
	case rfc3339:
		return "2006-01-02T15:04:05Z"
	}
	if !strings.Contains(format, "06") || !strings.Contains(format, "02") || !strings.Contains(format, "04") {
		return "no time"
	}
	return time.Date(2006, 1, 2, 15, 4, 5, 0, time.UTC).Format(format)
}
