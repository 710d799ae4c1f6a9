package slacktest

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
)

// Post is a message of the app's as the workspace shows it.
type Post struct {
	Conversation, TS, Thread string

	Shown    string   // what a person reads in the blocks
	Fallback string   // what he reads where no blocks are shown
	Formed   []string // mentions and links that were made of the text
	Quoted   []string // what is set apart
	Tables   []string // what is preformatted
	Buttons  []string // the labels
	Files    []File
}

// block is a block of a message, and element what it is made of.
type (
	block struct {
		Type     string    `json:"type"`
		BlockID  string    `json:"block_id"`
		Text     content   `json:"text"`
		Elements []element `json:"elements"`
	}
	element struct {
		Type     string    `json:"type"`
		ActionID string    `json:"action_id"`
		Value    string    `json:"value"`
		Text     content   `json:"text"`
		Elements []element `json:"elements"`
	}
)

// content is a text, which is a string or an object with one in it.
type content json.RawMessage

// UnmarshalJSON keeps it as it is.
func (c *content) UnmarshalJSON(b []byte) error {
	*c = content(b)
	return nil
}

// MarshalJSON gives it as it was.
func (c content) MarshalJSON() ([]byte, error) {
	if len(c) == 0 {
		return []byte("null"), nil
	}
	return c, nil
}

func (c content) string() string {
	object := struct{ Text string }{}
	if len(c) == 0 || json.Unmarshal(c, &object.Text) == nil || json.Unmarshal(c, &object) == nil {
		return object.Text
	}
	return ""
}

func (e element) label() string { return e.Text.string() }

// name gives blocks the ids the platform gives. The lock must be held.
func (s *Server) name(blocks []block) {
	for i := range blocks {
		if blocks[i].BlockID == "" {
			blocks[i].BlockID = fmt.Sprintf("b%d", s.id())
		}
	}
}

func (b block) shown() string {
	switch b.Type {
	case "rich_text":
		var lines []string
		for _, part := range b.Elements {
			lines = append(lines, part.inner())
		}
		return strings.Join(lines, "\n")
	case "header":
		return b.Text.string()
	}
	return ""
}

func (e element) inner() string {
	var b strings.Builder
	for _, x := range e.Elements {
		b.WriteString(x.Text.string())
	}
	return b.String()
}

var (
	tokens = regexp.MustCompile(`<[^<>]+>`)
	bare   = regexp.MustCompile(`https?://\S+`)
)

// post renders a message.
func (m *message) post() Post {
	unescape := strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&")
	p := Post{Conversation: m.conversation, TS: m.ts, Thread: m.thread, Files: m.files, Fallback: unescape.Replace(m.text), Formed: tokens.FindAllString(m.text, -1)}
	if m.parse != "none" {
		p.Formed = append(p.Formed, bare.FindAllString(m.text, -1)...)
	}
	var shown []string
	for _, b := range m.blocks {
		if text := b.shown(); text != "" {
			shown = append(shown, text)
		}
		for _, part := range b.Elements {
			switch part.Type {
			case "rich_text_quote":
				p.Quoted = append(p.Quoted, part.inner())
			case "rich_text_preformatted":
				p.Tables = append(p.Tables, part.inner())
			case "button":
				p.Buttons = append(p.Buttons, part.label())
			}
			for _, e := range part.Elements {
				if e.Type != "text" {
					p.Formed = append(p.Formed, e.Type)
				}
			}
		}
	}
	p.Shown = strings.Join(shown, "\n")
	if len(m.blocks) == 0 {
		p.Shown = p.Fallback
	}
	return p
}
