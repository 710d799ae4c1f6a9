package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
)

// message is one line of input: what was said, and what the talk lends to it.
type message struct {
	text    string
	context understand.Context
}

// messageReader reads lines against the ids the knowledge holds.
type messageReader struct {
	base *knowledge.Base
}

// read takes a line as a JSON object when it opens with a brace, and else as the
// text itself.
func (r messageReader) read(line []byte) (message, error) {
	if !bytes.HasPrefix(bytes.TrimLeft(line, " \t"), []byte("{")) {
		return message{text: string(line)}, nil
	}
	var wire struct {
		Text  *string        `json:"text"`
		Asked asked          `json:"asked"`
		Facts map[string]any `json:"facts"`
	}
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.UseNumber()
	if err := dec.Decode(&wire); err != nil {
		return message{}, fmt.Errorf("not a JSON object of text, asked and facts: %w", err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return message{}, errors.New("more follows the JSON object; write one object a line")
	}
	if wire.Text == nil {
		return message{}, errors.New(`no "text" in the object; write the message there`)
	}
	m := message{text: *wire.Text}
	if err := r.ask(&m.context, wire.Asked); err != nil {
		return message{}, err
	}
	facts, err := factValues(wire.Facts)
	m.context.Facts = facts
	return m, err
}

// asked is what the agent asked for last: an id, or an object that says what kind
// of thing the id names.
type asked struct {
	ID          string `json:"-"`
	Reading     string `json:"reading"`
	State       string `json:"state"`
	Observation string `json:"observation"`
	Fact        string `json:"fact"`
}

// UnmarshalJSON reads an id or an object; null is nothing asked.
func (a *asked) UnmarshalJSON(b []byte) error {
	if len(b) > 0 && b[0] == '{' {
		type plain asked
		return json.Unmarshal(b, (*plain)(a))
	}
	return json.Unmarshal(b, &a.ID)
}

// ask puts what was asked into the context.
func (r messageReader) ask(ctx *understand.Context, a asked) error {
	if a.ID != "" {
		a = r.named(a.ID)
	}
	reading := knowledge.ReadingID(a.Reading)
	switch {
	case reading != "" && r.base.Measurements[reading] == nil:
		return fmt.Errorf("no reading %q in the knowledge; write it as quantity/point", reading)
	case a.Observation != "" && r.base.Observations[a.Observation] == nil:
		return fmt.Errorf("no observation or fact %q in the knowledge; name a subject such as blower, or a reading as quantity/point", a.Observation)
	case a.Fact != "" && r.base.Facts[a.Fact] == nil:
		return fmt.Errorf("no fact %q in the knowledge; name it as the nameplate does, such as refrigerant", a.Fact)
	}
	ctx.Asked, ctx.AskedState = reading, a.State
	ctx.AskedObservation, ctx.AskedFact = a.Observation, a.Fact
	return nil
}

// named finds what kind of thing an id names. Some subjects are facts too (a
// float switch is fitted, and it is tripped): the observation is the one asked.
func (r messageReader) named(id string) asked {
	switch {
	case strings.Contains(id, "/"):
		return asked{Reading: id}
	case r.base.Observations[id] == nil && r.base.Facts[id] != nil:
		return asked{Fact: id}
	default:
		return asked{Observation: id}
	}
}

// factValues writes every fact as the text the house keeps it in: 3 as "3".
func factValues(facts map[string]any) (map[string]string, error) {
	out := make(map[string]string, len(facts))
	for id, v := range facts {
		switch v := v.(type) {
		case string:
			out[id] = v
		case json.Number:
			out[id] = v.String()
		default:
			return nil, fmt.Errorf("the fact %q is neither text nor a number; write its value as one of them", id)
		}
	}
	return out, nil
}
