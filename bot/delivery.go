package bot

import (
	"encoding/json"
	"strings"

	"proveout/dialog"
)

// forDelivery is what a channel may want of a reply.
func forDelivery(r *Reply) *Reply {
	return &Reply{Text: r.Text, Ask: r.Ask, Call: r.Call, Cautions: r.Cautions, Status: r.Status, Lines: r.Lines}
}

// parts joins the lines of one part of a reply.
func parts(r *Reply, p dialog.Part) string {
	var out []string
	for _, l := range r.Lines {
		if l.Part == p {
			out = append(out, l.Text)
		}
	}
	return strings.Join(out, "\n")
}

// written is a message as the record keeps it: the lines of its reply too.
type written struct {
	ID           string
	Channel      string
	Conversation string `json:",omitempty"`
	Thread       string `json:",omitempty"`
	To           string `json:",omitempty"`
	Text         string
	Reply        *Reply   `json:",omitempty"`
	Lines        []Line   `json:",omitempty"`
	Buttons      []Button `json:",omitempty"`
}

// MarshalJSON writes a message with the lines of its reply.
func (m *Outbound) MarshalJSON() ([]byte, error) {
	w := written{m.ID, m.Channel, m.Conversation, m.Thread, m.To, m.Text, m.Reply, nil, m.Buttons}
	if m.Reply != nil {
		w.Lines = m.Reply.Lines
	}
	return json.Marshal(w)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (m *Outbound) UnmarshalJSON(b []byte) error {
	var w written
	if err := json.Unmarshal(b, &w); err != nil {
		return err
	}
	*m = Outbound{w.ID, w.Channel, w.Conversation, w.Thread, w.To, w.Text, w.Reply, w.Buttons}
	if m.Reply != nil {
		m.Reply.Lines = w.Lines
	}
	return nil
}
