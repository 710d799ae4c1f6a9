package smstest

import (
	"encoding/json"
	"errors"
	"net"
	"net/http"
	"slices"
	"strconv"
	"sync"
	"time"
)

// Post is a text as a phone shows it.
type Post struct {
	ID, Reference, To, From, Text string
}

// Refusal is a way in which a text is not taken.
type Refusal struct {
	Status     int           // an HTTP status instead of an answer
	RetryAfter time.Duration // with status 429
	Code       string        // an error in an answer of status 200
	Cut        bool          // the connection ends before the text is taken
	Lose       bool          // the text is taken, the answer is lost
}

type refusal struct {
	skip int
	how  Refusal
}

// Server is the gateway.
type Server struct {
	// Token is what it wants of who sends, and Secret what it signs with.
	Token, Secret string

	server *http.Server
	url    string
	ended  chan struct{}

	mu       sync.Mutex
	to       string // where the adapter is
	posts    []Post
	refusals []refusal
	n        int
	now      func() time.Time
}

// New starts a gateway on a free port of the loopback.
func New(l net.Listener) *Server {
	s := &Server{
		Token: "token-of-the-gateway", Secret: "secret-of-the-webhook",
		url: "http://" + l.Addr().String(), ended: make(chan struct{}), now: time.Now,
	}
	mux := http.NewServeMux()
	mux.HandleFunc("POST /v1/messages", s.send)
	s.server = &http.Server{Handler: mux, ReadHeaderTimeout: time.Second}
	go func() {
		defer close(s.ended)
		_ = s.server.Serve(l) // it ends when it is closed
	}()
	return s
}

// Close ends the gateway.
func (s *Server) Close() error {
	err := s.server.Close()
	<-s.ended
	return err
}

// URL is where texts are sent to.
func (s *Server) URL() string { return s.url + "/v1/messages" }

// DeliverTo says where the adapter listens: http://127.0.0.1:9464.
func (s *Server) DeliverTo(url string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.to = url
}

// Clock has requests signed and texts dated by another clock.
func (s *Server) Clock(now func() time.Time) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.now = now
}

// Refuse has one text refused, after so many that are taken.
func (s *Server) Refuse(skip int, how Refusal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.refusals = append(s.refusals, refusal{skip, how})
}

// Posts lists what the phones show, the oldest first.
func (s *Server) Posts() []Post {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.posts)
}

// refused takes the refusal whose turn it is. The lock is held.
func (s *Server) refused() Refusal {
	if len(s.refusals) == 0 {
		return Refusal{}
	}
	if next := &s.refusals[0]; next.skip > 0 {
		next.skip--
		return Refusal{}
	}
	how := s.refusals[0].how
	s.refusals = s.refusals[1:]
	return how
}

// send takes a text.
func (s *Server) send(w http.ResponseWriter, r *http.Request) {
	if r.Header.Get("Authorization") != "Bearer "+s.Token {
		http.Error(w, `{"error": {"code": "unauthorized"}}`, http.StatusUnauthorized)
		return
	}
	p := Post{}
	if err := json.NewDecoder(r.Body).Decode(&p); err != nil || p.To == "" || p.From == "" || p.Reference == "" {
		http.Error(w, `{"error": {"code": "malformed"}}`, http.StatusBadRequest)
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	how := s.refused()
	switch {
	case how.Cut:
		panic(http.ErrAbortHandler)
	case how.Status != 0:
		if how.RetryAfter > 0 {
			w.Header().Set("Retry-After", strconv.Itoa(int(how.RetryAfter/time.Second)))
		}
		http.Error(w, "not now", how.Status)
		return
	case how.Code != "":
		_ = json.NewEncoder(w).Encode(map[string]map[string]string{"error": {"code": how.Code}}) // as below
		return
	}
	at := slices.IndexFunc(s.posts, func(o Post) bool { return o.Reference == p.Reference })
	if at < 0 {
		s.n++
		p.ID = "gw-" + strconv.Itoa(s.n)
		s.posts = append(s.posts, p)
		at = len(s.posts) - 1
	}
	if how.Lose {
		panic(http.ErrAbortHandler)
	}
	_ = json.NewEncoder(w).Encode(map[string]string{"id": s.posts[at].ID}) // whoever asked is gone if it fails
}

// errNotTaken is what a delivery comes to that was not acknowledged.
var errNotTaken = errors.New("the delivery was not acknowledged")
