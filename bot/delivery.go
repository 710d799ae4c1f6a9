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

// plain is a message without the methods that write and read it.
type plain Outbound

// written is a message as the record keeps it: the lines of its reply too.
type written struct {
	*plain
	Lines []Line `json:",omitempty"`
}

// MarshalJSON writes a message with the lines of its reply.
func (m *Outbound) MarshalJSON() ([]byte, error) {
	w := written{plain: (*plain)(m)}
	if m.Reply != nil {
		w.Lines = m.Reply.Lines
	}
	return json.Marshal(w)
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (m *Outbound) UnmarshalJSON(b []byte) error {
	w := written{plain: (*plain)(m)}
	if err := json.Unmarshal(b, &w); err != nil {
		return err
	}
	if m.Reply != nil {
		m.Reply.Lines = w.Lines
	}
	return nil
}
