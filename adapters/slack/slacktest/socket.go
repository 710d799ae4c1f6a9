package slacktest

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"sync"

	"github.com/gorilla/websocket"
)

// socket is the app's connection.
type socket struct {
	conn    *websocket.Conn
	writing sync.Mutex
	mu      sync.Mutex
	waiting map[string]chan json.RawMessage // by envelope
}

// open gives the address of a socket, with a ticket for one connection.
func (s *Server) open() map[string]any {
	s.mu.Lock()
	defer s.mu.Unlock()
	ticket := fmt.Sprintf("ticket-of-no-socket-%d", s.id())
	s.tickets = append(s.tickets, ticket)
	return map[string]any{"ok": true, "url": "ws://" + s.addr + "/socket?ticket=" + ticket}
}

func (s *Server) connect(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	known := slices.Contains(s.tickets, r.URL.Query().Get("ticket"))
	s.mu.Unlock()
	if !known {
		http.Error(w, "no such ticket", http.StatusForbidden)
		return
	}
	up := upgrader()
	conn, err := up.Upgrade(w, r, nil)
	if err != nil {
		return // it has answered
	}
	c := &socket{conn: conn, waiting: map[string]chan json.RawMessage{}}
	if c.write(map[string]any{"type": "hello", "num_connections": 1, "connection_info": map[string]any{"app_id": appID}}) != nil {
		return
	}
	s.mu.Lock()
	s.socket = c
	s.moved()
	s.mu.Unlock()
	c.listen()
	s.forget(c)
}

// listen takes acknowledgements until the connection ends.
func (c *socket) listen() {
	for {
		ack := struct {
			Envelope string          `json:"envelope_id"`
			Payload  json.RawMessage `json:"payload"`
		}{}
		if err := c.conn.ReadJSON(&ack); err != nil {
			return
		}
		c.mu.Lock()
		if to := c.waiting[ack.Envelope]; to != nil {
			to <- ack.Payload
			delete(c.waiting, ack.Envelope)
		}
		c.mu.Unlock()
	}
}

// expect returns where the acknowledgement of an envelope will arrive.
func (c *socket) expect(envelope string) <-chan json.RawMessage {
	c.mu.Lock()
	defer c.mu.Unlock()
	to := make(chan json.RawMessage, 1)
	c.waiting[envelope] = to
	return to
}

func (c *socket) write(v any) error {
	c.writing.Lock()
	defer c.writing.Unlock()
	return c.conn.WriteJSON(v)
}

func (s *Server) forget(c *socket) {
	_ = c.conn.Close()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.socket == c {
		s.socket = nil
		s.moved()
	}
}

// Refresh asks the app to connect anew, as the platform does every few hours, and
// forgets the connection.
func (s *Server) Refresh() error {
	s.mu.Lock()
	c := s.socket
	s.socket = nil
	s.moved()
	s.mu.Unlock()
	if c == nil {
		return nil
	}
	if err := c.write(map[string]any{"type": "disconnect", "reason": "refresh_requested"}); err != nil {
		return fmt.Errorf("asking for a new connection: %w", err)
	}
	return nil
}

// Drop ends the app's connection without a word.
func (s *Server) Drop() {
	s.mu.Lock()
	c := s.socket
	s.mu.Unlock()
	if c != nil {
		s.forget(c)
	}
}
