package slacktest

import (
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// patience is how long the platform waits for an acknowledgement.
const patience = 3 * time.Second

// ErrUnacknowledged says that the app did not acknowledge an event in time: the
// platform would deliver it again.
var ErrUnacknowledged = errors.New("the event was not acknowledged")

// Event is something people did, to be delivered once or more often.
type Event struct {
	kind     string // events_api, interactive or slash_commands
	payload  map[string]any
	attempts int
}

// Deliver delivers an event and waits for its acknowledgement, at most the
// platform's three seconds. It returns what the app answered with it, if anything.
// Each delivery after the first says that it is a repeat.
func (s *Server) Deliver(ctx context.Context, e *Event) (json.RawMessage, error) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	attempt := e.attempts
	e.attempts++
	s.mu.Lock()
	target := s.target
	s.mu.Unlock()
	if target != "" {
		return s.post(ctx, target, e, attempt)
	}
	return s.push(ctx, e, attempt)
}

// push delivers by the socket.
func (s *Server) push(ctx context.Context, e *Event, attempt int) (json.RawMessage, error) {
	if err := s.Connected(ctx); err != nil {
		return nil, fmt.Errorf("%w: nobody listens: %w", ErrUnacknowledged, err)
	}
	s.mu.Lock()
	c, envelope := s.socket, fmt.Sprintf("envelope-%d", s.id())
	s.mu.Unlock()
	if c == nil {
		return nil, ErrUnacknowledged
	}
	acknowledged := c.expect(envelope)
	message := map[string]any{
		"type": e.kind, "envelope_id": envelope, "payload": e.payload, "accepts_response_payload": e.kind != "events_api",
	}
	if e.kind == "events_api" && attempt > 0 {
		message["retry_attempt"], message["retry_reason"] = attempt, "timeout"
	}
	if err := c.write(message); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrUnacknowledged, err)
	}
	select {
	case answer := <-acknowledged:
		return answer, nil
	case <-ctx.Done():
		return nil, ErrUnacknowledged
	}
}

// post delivers by HTTP, signed.
func (s *Server) post(ctx context.Context, target string, e *Event, attempt int) (json.RawMessage, error) {
	body, mime, err := e.body()
	if err != nil {
		return nil, err
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, target, strings.NewReader(body))
	if err != nil {
		return nil, fmt.Errorf("delivering an event: %w", err)
	}
	stamp := strconv.FormatInt(time.Now().Unix(), 10)
	r.Header.Set("Content-Type", mime)
	r.Header.Set("X-Slack-Request-Timestamp", stamp)
	r.Header.Set("X-Slack-Signature", Sign(s.SigningSecret, stamp, body))
	if attempt > 0 {
		r.Header.Set("X-Slack-Retry-Num", strconv.Itoa(attempt))
		r.Header.Set("X-Slack-Retry-Reason", "http_timeout")
	}
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrUnacknowledged, err)
	}
	defer func() { _ = resp.Body.Close() }()
	answer, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		return nil, fmt.Errorf("%w: status %d", ErrUnacknowledged, resp.StatusCode)
	}
	return answer, nil
}

// body is an event as the platform posts it, and its media type.
func (e *Event) body() (body, mime string, err error) {
	const form = "application/x-www-form-urlencoded"
	b, err := json.Marshal(e.payload)
	if err != nil {
		return "", "", fmt.Errorf("encoding an event: %w", err)
	}
	switch e.kind {
	case "interactive":
		return url.Values{"payload": {string(b)}}.Encode(), form, nil
	case "slash_commands":
		v := url.Values{}
		for key, value := range e.payload {
			v.Set(key, fmt.Sprint(value))
		}
		return v.Encode(), form, nil
	}
	return string(b), "application/json", nil
}

// Sign gives the signature the platform puts on a request.
func Sign(secret, timestamp, body string) string {
	mac := hmac.New(sha256.New, []byte(secret))
	mac.Write([]byte("v0:" + timestamp + ":" + body))
	return "v0=" + hex.EncodeToString(mac.Sum(nil))
}
