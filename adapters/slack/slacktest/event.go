package slacktest

import (
	"fmt"
	"strings"
)

// Said is a message a person sends.
type Said struct {
	Conversation, User string
	Thread             string // the timestamp of the message it hangs on
	Text               string // as typed
	Markup             string // instead of Text: as the platform writes mentions and links
	Files              []File
}

// File is what a person attached, or the app uploaded.
type File struct {
	ID, Name, Mimetype, URL string
	Size                    int

	Title, Alt string // of one of the app's, and what is in it
	Content    []byte
}

// Say has a person send a message. It returns the event and the message's timestamp.
func (s *Server) Say(m Said) (*Event, string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	text := m.Markup
	if text == "" {
		text = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(m.Text)
	}
	kept := &message{conversation: m.Conversation, ts: s.stamp(), thread: m.Thread, user: m.User, text: text, files: m.Files}
	s.messages = append(s.messages, kept)
	inner := kept.json()
	inner["channel"], inner["channel_type"], inner["event_ts"] = kept.conversation, kind(kept.conversation), kept.ts
	if len(m.Files) > 0 {
		inner["subtype"] = "file_share"
	}
	return s.event(inner), kept.ts
}

// Edit has a person change a message. It is nil when there is none.
func (s *Server) Edit(conversation, ts, text string) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	m := s.find(conversation, ts)
	if m == nil {
		return nil
	}
	before, at := m.json(), s.stamp()
	m.text = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;").Replace(text)
	after := m.json()
	after["edited"] = map[string]any{"user": m.user, "ts": at}
	return s.event(map[string]any{
		"type": "message", "subtype": "message_changed", "hidden": true, "channel": conversation, "channel_type": kind(conversation),
		"ts": at, "event_ts": at, "message": after, "previous_message": before,
	})
}

// Unfurl has the platform add a preview to a message, which it reports as a change.
func (s *Server) Unfurl(conversation, ts string) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	m, at := s.find(conversation, ts), s.stamp()
	return s.event(map[string]any{
		"type": "message", "subtype": "message_changed", "hidden": true, "channel": conversation, "channel_type": kind(conversation),
		"ts": at, "event_ts": at, "message": m.json(), "previous_message": m.json(),
	})
}

// Delete has a person take a message back. It is nil when there is none.
func (s *Server) Delete(conversation, ts string) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	m, at := s.find(conversation, ts), s.stamp()
	if m == nil {
		return nil
	}
	before := m.json()
	m.text, m.blocks = "", nil
	return s.event(map[string]any{
		"type": "message", "subtype": "message_deleted", "hidden": true, "channel": conversation, "channel_type": kind(conversation),
		"ts": at, "event_ts": at, "deleted_ts": ts, "previous_message": before,
	})
}

// OpenHome has a person open the app's home.
func (s *Server) OpenHome(user string) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.event(map[string]any{"type": "app_home_opened", "user": user, "channel": "D" + user, "tab": "home", "event_ts": s.stamp()})
}

// Happen has something of an arbitrary kind happen.
func (s *Server) Happen(inner map[string]any) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.event(inner)
}

// event wraps what happened. The lock must be held.
func (s *Server) event(inner map[string]any) *Event {
	return &Event{kind: "events_api", payload: map[string]any{
		"type": "event_callback", "team_id": team, "api_app_id": appID, "event": inner,
		"event_id": fmt.Sprintf("Ev%d", s.id()), "event_time": 1700000000,
	}}
}

// Command has a person give a slash command.
func (s *Server) Command(conversation, user, command, text string) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	return &Event{kind: "slash_commands", payload: map[string]any{
		"team_id": team, "api_app_id": appID, "channel_id": conversation, "user_id": user, "command": command, "text": text,
		"trigger_id": fmt.Sprintf("%d.trigger", s.id()), "response_url": "http://" + s.addr + "/response",
	}}
}

// Press has a person press the button of that label under a post, or in his home
// when the post is empty. It is nil when there is none.
func (s *Server) Press(user string, p Post, label string) *Event {
	s.mu.Lock()
	defer s.mu.Unlock()
	blocks := s.homes[user]
	payload := map[string]any{
		"type": "block_actions", "user": map[string]any{"id": user, "team_id": team}, "api_app_id": appID, "team": map[string]any{"id": team},
		"trigger_id": fmt.Sprintf("%d.trigger", s.id()),
	}
	if m := s.find(p.Conversation, p.TS); m != nil {
		blocks = m.blocks
		container := map[string]any{"type": "message", "message_ts": p.TS, "channel_id": p.Conversation, "is_ephemeral": false}
		if m.thread != "" {
			container["thread_ts"] = m.thread
		}
		payload["container"], payload["channel"], payload["message"] = container, map[string]any{"id": p.Conversation}, m.json()
	} else {
		payload["container"] = map[string]any{"type": "view", "view_id": "V" + user}
	}
	for _, b := range blocks {
		for _, e := range b.Elements {
			if e.Type == "button" && e.label() == label {
				payload["actions"] = []any{map[string]any{
					"type": "button", "action_id": e.ActionID, "block_id": b.BlockID, "value": e.Value, "action_ts": s.stamp(),
					"text": map[string]any{"type": "plain_text", "text": label},
				}}
				return &Event{kind: "interactive", payload: payload}
			}
		}
	}
	return nil
}

// json is a message as events and methods show it.
func (m *message) json() map[string]any {
	out := map[string]any{"type": "message", "ts": m.ts, "text": m.text}
	for key, value := range map[string]string{"user": m.user, "thread_ts": m.thread, "bot_id": m.bot} {
		if value != "" {
			out[key] = value
		}
	}
	if m.metadata != nil {
		out["metadata"] = m.metadata
	}
	var files []any
	for _, f := range m.files {
		files = append(files, map[string]any{"id": f.ID, "name": f.Name, "mimetype": f.Mimetype, "url_private": f.URL, "size": f.Size})
	}
	if files != nil {
		out["files"] = files
	}
	return out
}
