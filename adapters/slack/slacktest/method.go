package slacktest

import (
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
)

// Refusal is a way in which a message of the app's is not taken.
type Refusal struct {
	Status     int           // an HTTP status instead of an answer
	RetryAfter time.Duration // with status 429
	Code       string        // an error of the method's own
	Cut        bool          // the connection ends before the message is taken
	Lose       bool          // the message is taken, the answer is lost
	Hang       bool          // no answer until the app gives up
}

// refusal is one that waits its turn.
type refusal struct {
	skip int
	how  Refusal
}

// Refuse has one message of the app's refused, after so many that are taken.
func (s *Server) Refuse(skip int, how Refusal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.refusals = append(s.refusals, refusal{skip, how})
}

// refused takes the refusal whose turn it is.
func (s *Server) refused() Refusal {
	s.mu.Lock()
	defer s.mu.Unlock()
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

// method answers a call of the app's.
func (s *Server) method(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("method")
	if err := r.ParseForm(); err != nil {
		http.Error(w, "not a form", http.StatusBadRequest)
		return
	}
	token := strings.TrimPrefix(r.Header.Get("Authorization"), "Bearer ")
	if token == "" {
		token = r.PostForm.Get("token")
	}
	want := s.BotToken
	if name == "apps.connections.open" {
		want = s.AppToken
	}
	if token != want {
		answer(w, failure("invalid_auth"))
		return
	}
	switch name {
	case "auth.test":
		answer(w, map[string]any{"ok": true, "user_id": AppUser, "bot_id": appBot, "team_id": team})
	case "apps.connections.open":
		answer(w, s.open())
	case "users.info":
		answer(w, s.person(r.PostForm.Get("user")))
	case "views.publish":
		answer(w, s.publish(r))
	case "conversations.replies", "conversations.history":
		answer(w, s.history(r.PostForm))
	case "chat.postMessage":
		s.take(w, r, s.keep)
	case "files.getUploadURLExternal":
		answer(w, s.offer(r.PostForm))
	case "files.completeUploadExternal":
		s.take(w, r, s.share)
	default:
		answer(w, failure("unknown_method"))
	}
}

func failure(code string) map[string]any { return map[string]any{"ok": false, "error": code} }

func answer(w http.ResponseWriter, v map[string]any) {
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(v) // whoever asked is gone if it fails
}

// take takes a message, or refuses it in the way that is next.
func (s *Server) take(w http.ResponseWriter, r *http.Request, keep func(url.Values) map[string]any) {
	how := s.refused()
	switch {
	case how.Hang:
		<-r.Context().Done()
	case how.Status != 0:
		if how.RetryAfter > 0 {
			w.Header().Set("Retry-After", strconv.Itoa(int(how.RetryAfter/time.Second)))
		}
		http.Error(w, "refused", how.Status)
	case how.Code != "":
		answer(w, failure(how.Code))
	case how.Cut:
		cut(w)
	case how.Lose:
		keep(r.PostForm)
		cut(w)
	default:
		answer(w, keep(r.PostForm))
	}
}

// cut ends the connection without an answer.
func cut(w http.ResponseWriter) {
	if conn, _, err := http.NewResponseController(w).Hijack(); err == nil {
		_ = conn.Close()
	}
}

func (s *Server) person(id string) map[string]any {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.asked++
	name, ok := s.people[id]
	if !ok {
		return failure("user_not_found")
	}
	return map[string]any{"ok": true, "user": map[string]any{"id": id, "real_name": name, "profile": map[string]any{"display_name": name}}}
}

func (s *Server) publish(r *http.Request) map[string]any {
	in := struct {
		User string `json:"user_id"`
		View struct {
			Type   string  `json:"type"`
			Blocks []block `json:"blocks"`
		} `json:"view"`
	}{}
	if err := json.NewDecoder(r.Body).Decode(&in); err != nil || in.View.Type != "home" {
		return failure("invalid_arguments")
	}
	if code := check(in.View.Blocks, mostInView); code != "" {
		return failure(code)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.name(in.View.Blocks)
	s.homes[in.User] = in.View.Blocks
	s.moved()
	return map[string]any{"ok": true, "view": map[string]any{"id": "V" + in.User}}
}

// history lists the messages of a conversation or of one thread in it.
func (s *Server) history(v url.Values) map[string]any {
	s.mu.Lock()
	defer s.mu.Unlock()
	list := []any{}
	for _, m := range s.messages {
		thread := v.Get("ts")
		in := thread == "" && m.thread == "" || thread != "" && (m.thread == thread || m.ts == thread)
		if m.conversation != v.Get("channel") || !in || m.ts < v.Get("oldest") {
			continue
		}
		shown := m.json()
		if v.Get("include_all_metadata") != "1" {
			delete(shown, "metadata")
		}
		list = append(list, shown)
	}
	return map[string]any{"ok": true, "messages": list, "has_more": false}
}
