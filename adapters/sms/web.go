package sms

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"proveout/bot"
)

// hook is a description's hook at work.
type hook struct {
	Hook
	name  string
	from  []netip.Prefix
	guard *guard
	take  func(context.Context, fields) error
}

// fields are those of one text or receipt, by our names for them.
type fields map[string]string

// errUnusable is a request that is the gateway's and holds no text or receipt.
var errUnusable = errors.New("unusable")

// refusal is why a request is not taken: the status that says so and the metric's word.
type refusal struct {
	status int
	word   string
}

// The refusals.
var (
	unknownPath   = refusal{http.StatusNotFound, "unknown-path"}
	wrongMethod   = refusal{http.StatusMethodNotAllowed, "method"}
	wrongAddress  = refusal{http.StatusForbidden, "address"}
	wrongType     = refusal{http.StatusUnsupportedMediaType, "content-type"}
	tooLarge      = refusal{http.StatusRequestEntityTooLarge, "too-large"}
	notRead       = refusal{http.StatusBadRequest, "unreadable"}
	notSigned     = refusal{http.StatusUnauthorized, "unsigned"}
	staleRequest  = refusal{http.StatusUnauthorized, "stale"}
	playedAgain   = refusal{http.StatusConflict, "replayed"}
	unusable      = refusal{http.StatusUnprocessableEntity, "unusable"}
	tooMany       = refusal{http.StatusTooManyRequests, "limited"}
	notStored     = refusal{http.StatusServiceUnavailable, "not-stored"}
	taken         = "taken"
	noHook        = "none" // the hook of a path nobody knows, in the metric
	challengeAuth = `Basic realm="gateway"`
)

// ServeHTTP takes the gateway's requests. The status says what it should do: 2.. stored,
// 429 and 503 send it again, any other never send that again.
func (a *Adapter) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := a.hooks[r.URL.Path]
	if h == nil {
		a.refuse(w, noHook, unknownPath)
		return
	}
	why := h.serve(w, r, a)
	if why != nil {
		a.refuse(w, h.name, *why)
		return
	}
	a.o.Metrics.requests.WithLabelValues(h.name, taken).Inc()
	if h.Answer.Type != "" {
		w.Header().Set("Content-Type", h.Answer.Type)
	}
	w.WriteHeader(h.Answer.Status)
	_, _ = io.WriteString(w, h.Answer.Text) // whoever asked is gone if it fails
}

// refuse says no, counts it and logs it; nothing of the request itself is logged.
func (a *Adapter) refuse(w http.ResponseWriter, hook string, why refusal) {
	a.o.Metrics.requests.WithLabelValues(hook, why.word).Inc()
	if why == tooMany {
		w.Header().Set("Retry-After", "60") // limits are by the minute
	}
	a.o.Log.Warn().Str("hook", hook).Str("reason", why.word).Msg("a request was refused")
	http.Error(w, why.word, why.status)
}

// serve takes a request, or says why not.
func (h *hook) serve(w http.ResponseWriter, r *http.Request, a *Adapter) *refusal {
	switch {
	case r.Method != h.Method:
		w.Header().Set("Allow", h.Method)
		return &wrongMethod
	case !h.comesFrom(r.RemoteAddr):
		return &wrongAddress
	case !h.typed(r.Header.Get("Content-Type")):
		return &wrongType
	}
	body, err := io.ReadAll(http.MaxBytesReader(w, r.Body, h.Largest))
	if _, over := errors.AsType[*http.MaxBytesError](err); over {
		return &tooLarge
	}
	if err != nil {
		return &notRead
	}
	switch err := h.guard.check(r, body, a.o.Now()); {
	case errors.Is(err, errStale):
		return &staleRequest
	case errors.Is(err, errReplayed):
		return &playedAgain
	case err != nil:
		if h.Auth.Basic != nil {
			w.Header().Set("WWW-Authenticate", challengeAuth)
		}
		return &notSigned
	}
	all, err := h.read(r.URL.RawQuery, body)
	if err != nil {
		return &notRead
	}
	why := h.takeAll(r.Context(), all)
	if why == nil {
		h.guard.took(r.Header, a.o.Now())
	}
	return why
}

// takeAll takes all a request holds. What cannot be used does not keep back the rest.
func (h *hook) takeAll(ctx context.Context, all []fields) *refusal {
	why := &unusable // of nothing at all
	for _, f := range all {
		switch err := h.take(ctx, f); {
		case errors.Is(err, errUnusable):
			continue
		case bot.CodeOf(err) == bot.CodeLimited:
			return &tooMany
		case err != nil:
			return &notStored
		default:
			why = nil
		}
	}
	return why
}

// comesFrom says whether a request may come from an address.
func (h *hook) comesFrom(address string) bool {
	if len(h.from) == 0 {
		return true
	}
	at, err := netip.ParseAddrPort(address)
	return err == nil && slices.ContainsFunc(h.from, func(p netip.Prefix) bool { return p.Contains(at.Addr().Unmap()) })
}

// typed says whether a content type is that of the body described.
func (h *hook) typed(contentType string) bool {
	if h.Body == Query {
		return true
	}
	kind, params, err := mime.ParseMediaType(contentType)
	if charset := params["charset"]; err != nil || charset != "" && !strings.EqualFold(charset, "utf-8") {
		return false
	}
	if h.Body == Form {
		return kind == "application/x-www-form-urlencoded"
	}
	return kind == "application/json" || strings.HasSuffix(kind, "+json")
}

// read gives the fields a request holds, of each text or receipt in it.
func (h *hook) read(query string, body []byte) ([]fields, error) {
	if h.Body == JSON {
		return h.readJSON(body)
	}
	if h.Body == Form {
		query = string(body)
	}
	values, err := url.ParseQuery(query)
	if err != nil {
		return nil, errors.New("reading a form: it is not encoded as one")
	}
	f := fields{}
	for ours, theirs := range h.Fields {
		f[ours] = clean(values.Get(theirs))
	}
	return []fields{f}, nil
}

func (h *hook) readJSON(body []byte) ([]fields, error) {
	d := json.NewDecoder(strings.NewReader(string(body)))
	d.UseNumber() // an id of many digits is no float
	var v any
	if err := d.Decode(&v); err != nil {
		return nil, fmt.Errorf("reading JSON: %w", err)
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return nil, errors.New("reading JSON: there is more than one value")
	}
	each := []any{v}
	if h.Each != "" {
		list, ok := follow(v, h.Each).([]any)
		if !ok {
			return nil, errors.New("reading JSON: there is no list " + h.Each)
		}
		each = list
	}
	out := make([]fields, len(each))
	for i, one := range each {
		out[i] = fields{}
		for ours, theirs := range h.Fields {
			out[i][ours] = clean(scalar(follow(one, theirs)))
		}
	}
	return out, nil
}

// follow goes along a path in JSON: the names of members and the places in lists,
// joined by dots. Nil when there is nothing.
func follow(v any, path string) any {
	for name := range strings.SplitSeq(path, ".") {
		switch at := v.(type) {
		case map[string]any:
			v = at[name]
		case []any:
			i, err := strconv.Atoi(name)
			if err != nil || i < 0 || i >= len(at) {
				return nil
			}
			v = at[i]
		default:
			return nil
		}
	}
	return v
}

// scalar is a JSON value as text; a list or an object is none.
func scalar(v any) string {
	switch v := v.(type) {
	case string:
		return v
	case json.Number:
		return v.String()
	case bool:
		return strconv.FormatBool(v)
	}
	return ""
}

// clean makes text of what may be no text at all.
func clean(s string) string { return strings.ToValidUTF8(s, "\uFFFD") }
