package smstest

import (
	"bytes"
	"context"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"
)

// Concat says which part of which long text a delivery is.
type Concat struct {
	Reference string `json:"reference"`
	Part      int    `json:"part"`
	Total     int    `json:"total"`
}

// Delivery is a text from a phone, or a part of one.
type Delivery struct {
	ID     string    `json:"id,omitempty"`
	From   string    `json:"from"`
	To     string    `json:"to"`
	Text   string    `json:"text"`
	SentAt time.Time `json:"sent_at,omitzero"`
	Concat *Concat   `json:"concat,omitempty"`
	// Attempt is how often it was delivered.
	Attempt int `json:"attempt"`
}

// Say makes a text from a phone, which Deliver delivers.
func (s *Server) Say(from, to, text string) *Delivery {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.n++
	return &Delivery{ID: "mo-" + strconv.Itoa(s.n), From: from, To: to, Text: text, SentAt: s.now().UTC()}
}

// Deliver delivers a text, once more when it was delivered before. The error is nil
// when it was acknowledged.
func (s *Server) Deliver(ctx context.Context, d *Delivery) error {
	d.Attempt++
	return s.post(ctx, "/sms", d)
}

// Report says what became of a text that was sent.
func (s *Server) Report(ctx context.Context, id, status, reason string) error {
	s.mu.Lock()
	s.n++
	n := s.n
	s.mu.Unlock()
	return s.post(ctx, "/sms/receipt", map[string]any{"id": id, "status": status, "reason": reason, "attempt": n})
}

func (s *Server) post(ctx context.Context, path string, v any) error {
	body, err := json.Marshal(v)
	if err != nil {
		return err
	}
	s.mu.Lock()
	to, stamp := s.to, strconv.FormatInt(s.now().Unix(), 10)
	s.mu.Unlock()
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, to+path, bytes.NewReader(body))
	if err != nil {
		return err
	}
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("X-Timestamp", stamp)
	r.Header.Set("X-Signature", "sha256="+Sign(s.Secret, stamp, body))
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close() //nolint:errcheck // it was read
	why, err := io.ReadAll(answer.Body)
	if err != nil {
		return err
	}
	if answer.StatusCode/100 != 2 {
		return fmt.Errorf("%w: %d %s", errNotTaken, answer.StatusCode, bytes.TrimSpace(why))
	}
	return nil
}

// Sign is the signature of a request.
func Sign(secret, stamp string, body []byte) string {
	mac := hmac.New(sha256.New, []byte(secret))
	fmt.Fprintf(mac, "%s.", stamp)
	mac.Write(body)
	return hex.EncodeToString(mac.Sum(nil))
}
