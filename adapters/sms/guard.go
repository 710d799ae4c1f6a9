package sms

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"maps"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"
)

// Why a request is not the gateway's. The words are labels of a metric.
var (
	errUnsigned = errors.New("unsigned")
	errStale    = errors.New("stale")
	errReplayed = errors.New("replayed")
)

// guard checks who made a request.
type guard struct {
	auth    Auth
	secrets map[string]string

	mu sync.Mutex
	// taken are the signatures of requests that were taken, with the moment after which
	// their timestamp is stale anyway.
	taken map[string]time.Time
	swept time.Time
}

func newGuard(auth Auth, secrets map[string]string) *guard {
	return &guard{auth: auth, secrets: secrets, taken: map[string]time.Time{}}
}

// check says whether a request is the gateway's. A signature is good once.
func (g *guard) check(r *http.Request, body []byte, now time.Time) error {
	switch {
	case g.auth.Signature != nil:
		return g.signed(r.Header, body, now)
	case g.auth.Basic != nil:
		user, password, ok := r.BasicAuth()
		if ok && same(user, g.auth.Basic.User) && same(password, g.secrets[g.auth.Basic.Password]) {
			return nil
		}
	case g.auth.Bearer != nil:
		kind, token, ok := strings.Cut(r.Header.Get("Authorization"), " ")
		if ok && strings.EqualFold(kind, "Bearer") && same(token, g.secrets[g.auth.Bearer.Token]) {
			return nil
		}
	}
	return errUnsigned
}

// same compares two secrets in a time that tells nothing of either.
func same(a, b string) bool {
	x, y := sha256.Sum256([]byte(a)), sha256.Sum256([]byte(b))
	return hmac.Equal(x[:], y[:])
}

func (g *guard) signed(h http.Header, body []byte, now time.Time) error {
	s := g.auth.Signature
	stamp := h.Get(s.Timestamp)
	sent, err := s.decode(h.Get(s.Header))
	if err != nil || !hmac.Equal(sent, s.sum(g.secrets[s.Secret], stamp, body)) {
		return errUnsigned
	}
	second, err := strconv.ParseInt(stamp, 10, 64)
	if err != nil || now.Sub(time.Unix(second, 0)).Abs() > s.Window {
		return errStale
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	if _, seen := g.taken[string(sent)]; seen {
		return errReplayed
	}
	return nil
}

// took remembers that a request was taken, so that it is not taken again. One that
// could not be stored may be played again: that is how it is delivered.
func (g *guard) took(h http.Header, now time.Time) {
	s := g.auth.Signature
	if s == nil {
		return
	}
	sent, err := s.decode(h.Get(s.Header))
	if err != nil {
		return
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	if now.Sub(g.swept) > s.Window {
		maps.DeleteFunc(g.taken, func(_ string, until time.Time) bool { return now.After(until) })
		g.swept = now
	}
	g.taken[string(sent)] = now.Add(2 * s.Window)
}

// decode reads the signature in a header.
func (s *Signature) decode(text string) ([]byte, error) {
	text, ok := strings.CutPrefix(text, s.Prefix)
	if !ok || text == "" {
		return nil, errUnsigned
	}
	if s.Encoding == "base64" {
		return base64.StdEncoding.DecodeString(text)
	}
	return hex.DecodeString(text)
}

// sum is the HMAC-SHA-256 over what is signed.
func (s *Signature) sum(secret, stamp string, body []byte) []byte {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte(strings.NewReplacer("{timestamp}", stamp, "{body}", string(body)).Replace(s.Over)))
	return mac.Sum(nil)
}

// sign signs a request of ours as the gateway signs its own.
func (s *Signature) sign(h http.Header, secret string, body []byte, now time.Time) {
	stamp := strconv.FormatInt(now.Unix(), 10)
	sum := s.sum(secret, stamp, body)
	text := hex.EncodeToString(sum)
	if s.Encoding == "base64" {
		text = base64.StdEncoding.EncodeToString(sum)
	}
	h.Set(s.Timestamp, stamp)
	h.Set(s.Header, s.Prefix+text)
}
