package sms

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"proveout/adapters/sms/gsm"
	"proveout/bot"
)

// authAgain is how long to wait with a message while the gateway refuses our secret:
// the message is well, and somebody must mend the secret.
const authAgain = 5 * time.Minute

// largestAnswer is the most that is read of an answer.
const largestAnswer = 1 << 16

// sending remembers how many pieces of a message are sent, by its id, while it is not
// sent whole. A message given up stays until it is one of too many.
type sending struct {
	mu    sync.Mutex
	order []string
	done  map[string]int
}

const sendingKept = 1000

func (s *sending) sent(id string) int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.done[id]
}

func (s *sending) put(id string, n int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.done == nil {
		s.done = map[string]int{}
	}
	if _, known := s.done[id]; !known {
		if s.order = append(s.order, id); len(s.order) > sendingKept {
			delete(s.done, s.order[0])
			s.order = s.order[1:]
		}
	}
	s.done[id] = n
}

func (s *sending) drop(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.done, id)
	s.order = slices.DeleteFunc(s.order, func(o string) bool { return o == id })
}

// Send delivers a message and returns its id, which receipts name; of one sent in several
// pieces, the last's. Every error is a *bot.DeliveryError. A message sent again under
// the same id goes on where it stopped. Whether the piece whose answer was lost is then
// on the phone twice is the gateway's doing: it is sent under the same {id}.
func (a *Adapter) Send(ctx context.Context, m bot.Outbound) (string, error) {
	to, err := bot.E164(orElse(m.Conversation, m.To), a.o.Region)
	if err != nil {
		return "", &bot.DeliveryError{Reason: "unreachable", Err: errors.New("sms: the message is for no phone number")}
	}
	pieces := gsm.Cut(Compose(&m), a.o.Gateway.Send.MostParts)
	var id string
	for i := a.sending.sent(m.ID); i < len(pieces); i++ {
		id, err = a.piece(ctx, to, digest(m.ID, strconv.Itoa(i)), pieces[i])
		if err != nil {
			a.sending.put(m.ID, i)
			return "", err
		}
	}
	a.sending.drop(m.ID)
	return id, nil
}

// piece sends one request.
func (a *Adapter) piece(ctx context.Context, to, id, text string) (string, error) {
	s := &a.o.Gateway.Send
	unicode := !gsm.Default(text)
	r, err := a.request(ctx, s, a.filler(to, id, text), text, unicode)
	if err != nil {
		return "", &bot.DeliveryError{Reason: "rejected", Err: a.scrub(err)}
	}
	answer, err := a.o.Client.Do(r)
	if err != nil {
		return "", a.unanswered(err)
	}
	defer answer.Body.Close() //nolint:errcheck // it was read; there is nothing to lose
	body, err := io.ReadAll(io.LimitReader(answer.Body, largestAnswer))
	if err != nil {
		return "", a.unanswered(err)
	}
	if err := a.judge(answer, body); err != nil {
		return "", err
	}
	alphabet := "default"
	if unicode {
		alphabet = "ucs2"
	}
	a.o.Metrics.texts.WithLabelValues(alphabet).Add(float64(gsm.Count(text)))
	if s.Answer.ID == "" {
		return id, nil
	}
	var v any
	d := json.NewDecoder(bytes.NewReader(body))
	d.UseNumber()
	if d.Decode(&v) == nil {
		if theirs := scalar(follow(v, s.Answer.ID)); theirs != "" {
			return theirs, nil
		}
	}
	// It was taken: sent again it would be on the phone twice. Its receipt is lost.
	a.o.Log.Error().Str("message", id).Msg("the gateway took a text and its answer holds no id where the description says")
	return id, nil
}

// filler fills in what stands in braces.
func (a *Adapter) filler(to, id, text string) func(string) string {
	values := map[string]string{
		"to": to, "from": a.o.Number, "text": text, "id": id,
		"to-digits": strings.TrimPrefix(to, "+"), "from-digits": strings.TrimPrefix(a.o.Number, "+"),
	}
	return func(s string) string {
		return placeholder.ReplaceAllStringFunc(s, func(m string) string {
			parts := placeholder.FindStringSubmatch(m)
			if parts[1] == "secret" {
				return a.o.Secrets[parts[2]]
			}
			return values[parts[1]]
		})
	}
}

// request makes the request described.
func (a *Adapter) request(ctx context.Context, s *Send, fill func(string) string, text string, unicode bool) (*http.Request, error) {
	fields, headers := maps.Clone(s.Fields), maps.Clone(s.Headers)
	if unicode {
		fields, headers = with(fields, s.Unicode.Fields), with(headers, s.Unicode.Headers)
	}
	address := placeholder.ReplaceAllStringFunc(s.URL, func(m string) string { return url.PathEscape(fill(m)) })
	var body []byte
	var kind string
	switch s.Body {
	case JSON:
		var err error
		if body, err = encode(filledIn(fields, fill)); err != nil {
			return nil, fmt.Errorf("writing a text for the gateway: %w", err)
		}
		kind = "application/json"
	case Form, Query:
		form := url.Values{}
		for name, v := range fields {
			form.Set(name, fill(fmt.Sprint(v)))
		}
		if s.Body == Form {
			body, kind = []byte(form.Encode()), "application/x-www-form-urlencoded"
			break
		}
		if len(form) > 0 {
			join := "?"
			if strings.Contains(address, "?") {
				join = "&"
			}
			address += join + form.Encode()
		}
	case Text:
		body, kind = []byte(text), "text/plain; charset=UTF-8"
	}
	r, err := http.NewRequestWithContext(ctx, s.Method, address, bytes.NewReader(body))
	if err != nil {
		return nil, fmt.Errorf("writing a text for the gateway: %w", err)
	}
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	for name, v := range headers {
		r.Header.Set(name, fill(v))
	}
	a.authorise(r, body)
	return r, nil
}

func (a *Adapter) authorise(r *http.Request, body []byte) {
	switch auth := a.o.Gateway.Send.Auth; {
	case auth.Basic != nil:
		r.SetBasicAuth(auth.Basic.User, a.o.Secrets[auth.Basic.Password])
	case auth.Bearer != nil:
		r.Header.Set("Authorization", "Bearer "+a.o.Secrets[auth.Bearer.Token])
	case auth.Signature != nil:
		auth.Signature.sign(r.Header, a.o.Secrets[auth.Signature.Secret], body, a.o.Now())
	}
}

// encode writes JSON without making angle brackets unreadable.
func encode(v any) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	err := e.Encode(v)
	return bytes.TrimSpace(b.Bytes()), err
}

// with is a map with more laid over it.
func with[V any](m, more map[string]V) map[string]V {
	if m == nil {
		m = map[string]V{}
	}
	maps.Copy(m, more)
	return m
}

// filledIn fills in the texts of a JSON value.
func filledIn(v any, fill func(string) string) any {
	switch v := v.(type) {
	case string:
		return fill(v)
	case map[string]any:
		out := map[string]any{}
		for k, one := range v {
			out[k] = filledIn(one, fill)
		}
		return out
	case []any:
		out := make([]any, len(v))
		for i, one := range v {
			out[i] = filledIn(one, fill)
		}
		return out
	}
	return v
}

// judge says of an answer whether the text was taken, and whether to try again.
func (a *Adapter) judge(answer *http.Response, body []byte) error {
	s := &a.o.Gateway.Send.Answer
	code := ""
	if s.Error != "" {
		var v any
		d := json.NewDecoder(bytes.NewReader(body))
		d.UseNumber()
		if d.Decode(&v) == nil {
			code = scalar(follow(v, s.Error))
		}
	}
	wrong := code != "" && !slices.Contains(s.OK, code)
	if answer.StatusCode/100 == 2 && !wrong {
		return nil
	}
	d := &bot.DeliveryError{Err: fmt.Errorf("the gateway answers with status %d", answer.StatusCode)}
	if wrong {
		d.Err = a.scrub(fmt.Errorf("the gateway answers with status %d and error %.40q", answer.StatusCode, code))
	}
	switch {
	case answer.StatusCode == http.StatusTooManyRequests:
		d.Retry, d.After, d.Reason = true, retryAfter(answer.Header.Get("Retry-After"), a.o.Now()), "rate-limited"
	case wrong && slices.Contains(s.Again, code), answer.StatusCode >= http.StatusInternalServerError,
		answer.StatusCode == http.StatusRequestTimeout, answer.StatusCode == http.StatusTooEarly:
		d.Retry, d.After, d.Reason = true, retryAfter(answer.Header.Get("Retry-After"), a.o.Now()), "server"
	case answer.StatusCode == http.StatusUnauthorized, answer.StatusCode == http.StatusForbidden:
		d.Retry, d.After, d.Reason = true, authAgain, "auth"
	default:
		d.Reason = "rejected"
	}
	return d
}

// retryAfter reads how long to wait: seconds, or a moment.
func retryAfter(text string, now time.Time) time.Duration {
	if n, err := strconv.Atoi(text); err == nil && n > 0 {
		return min(time.Duration(n)*time.Second, time.Hour)
	}
	if at, err := http.ParseTime(text); err == nil && at.After(now) {
		return min(at.Sub(now), time.Hour)
	}
	return 0
}

// unanswered says of a request that was not answered to try it again.
func (a *Adapter) unanswered(err error) error {
	d := &bot.DeliveryError{Retry: true, Reason: "network"}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		d.Reason = "stopped"
	}
	if u, ok := errors.AsType[*url.Error](err); ok {
		err = u.Err // the address may hold the text, the number and a secret
	}
	d.Err = a.scrub(err)
	return d
}

// scrubbed is an error told without the secrets in it. What lay beneath is not
// unwrapped, for it would tell them.
type scrubbed struct{ text string }

func (e *scrubbed) Error() string { return e.text }

// scrub tells an error without any of our secrets.
func (a *Adapter) scrub(err error) error {
	text := err.Error()
	for _, name := range slices.Sorted(maps.Keys(a.o.Secrets)) {
		if secret := a.o.Secrets[name]; secret != "" {
			text = strings.ReplaceAll(text, secret, "…")
			text = strings.ReplaceAll(text, url.QueryEscape(secret), "…")
		}
	}
	return &scrubbed{text}
}
