package slacktest

import (
	"context"
	"encoding/json"
	"net/url"
	"strings"
	"unicode/utf8"
)

// What the platform takes.
const (
	mostInText     = 40000
	mostInBlocks   = 13200 // characters in a message's blocks; undocumented, and observed
	mostInPost     = 50
	mostInView     = 100
	mostElements   = 25
	mostOnButton   = 75
	mostInValue    = 2000
	mostInActionID = 255
)

// Gone is a conversation the app cannot reach.
const Gone = "C0GONE"

// keep takes a message of the app's.
func (s *Server) keep(v url.Values) map[string]any {
	m := &message{
		conversation: v.Get("channel"), thread: v.Get("thread_ts"), user: AppUser, bot: appBot, text: v.Get("text"), parse: v.Get("parse"),
	}
	if m.conversation == Gone {
		return failure("channel_not_found")
	}
	if raw := v.Get("blocks"); raw != "" {
		if json.Unmarshal([]byte(raw), &m.blocks) != nil {
			return failure("invalid_blocks_format")
		}
	}
	if raw := v.Get("metadata"); raw != "" {
		if json.Unmarshal([]byte(raw), &m.metadata) != nil {
			return failure("invalid_metadata_format")
		}
	}
	if utf8.RuneCountInString(m.text) > mostInText {
		return failure("msg_too_long")
	}
	if m.text == "" && len(m.blocks) == 0 {
		return failure("no_text")
	}
	if code := check(m.blocks, mostInPost); code != "" {
		return failure(code)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if strings.HasPrefix(m.conversation, "U") {
		m.conversation = "D" + m.conversation
	}
	if m.thread != "" && s.find(m.conversation, m.thread) == nil {
		return failure("thread_not_found")
	}
	m.ts = s.stamp()
	s.name(m.blocks)
	s.messages = append(s.messages, m)
	s.moved()
	return map[string]any{"ok": true, "channel": m.conversation, "ts": m.ts, "message": m.json()}
}

// check says what the platform would find wrong with blocks.
func check(blocks []block, most int) string {
	if len(blocks) > most {
		return "invalid_blocks"
	}
	size, ids := 0, map[string]bool{}
	for _, b := range blocks {
		if b.BlockID != "" && ids[b.BlockID] || !b.valid() {
			return "invalid_blocks"
		}
		ids[b.BlockID] = true
		size += utf8.RuneCountInString(b.shown())
	}
	if most == mostInPost && size > mostInBlocks {
		return "msg_blocks_too_long"
	}
	return ""
}

// valid checks a block of the kinds the app sends.
func (b block) valid() bool {
	switch b.Type {
	case "header":
		return b.Text.string() != ""
	case "actions":
		ids := map[string]bool{}
		for _, e := range b.Elements {
			n := utf8.RuneCountInString(e.label())
			if e.Type != "button" || n == 0 || n > mostOnButton || len(e.Value) > mostInValue || len(e.ActionID) > mostInActionID || ids[e.ActionID] {
				return false
			}
			ids[e.ActionID] = true
		}
		return len(b.Elements) > 0 && len(b.Elements) <= mostElements
	case "rich_text":
		for _, part := range b.Elements {
			for _, e := range part.Elements {
				if e.Type == "text" && e.Text.string() == "" {
					return false
				}
			}
		}
		return len(b.Elements) > 0
	}
	return false
}

// Posts lists what the app has posted in a conversation, oldest first.
func (s *Server) Posts(conversation string) []Post {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.posts(conversation)
}

func (s *Server) posts(conversation string) []Post {
	var out []Post
	for _, m := range s.messages {
		if m.bot != "" && m.conversation == conversation {
			out = append(out, m.post())
		}
	}
	return out
}

// WaitPosts blocks until the app has posted so many in a conversation.
func (s *Server) WaitPosts(ctx context.Context, conversation string, n int) ([]Post, error) {
	var out []Post
	err := s.wait(ctx, func() bool {
		out = s.posts(conversation)
		return len(out) >= n
	})
	return out, err
}

// WaitHome blocks until a person's home is filled and gives what it shows and the
// labels of its buttons.
func (s *Server) WaitHome(ctx context.Context, user string) (shown string, buttons []string, err error) {
	err = s.wait(ctx, func() bool {
		p := (&message{blocks: s.homes[user]}).post()
		shown, buttons = p.Shown, p.Buttons
		return shown != ""
	})
	return shown, buttons, err
}
