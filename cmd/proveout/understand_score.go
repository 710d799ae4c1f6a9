package main

import (
	"fmt"
	"io"
	"strings"

	"proveout/dialog/understand/score"
)

// explain prints for a person how one message was read.
func (u *understanding) explain(m message) error {
	x := u.reader.Explain(m.text, m.context)
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", m.text)
	section := func(name string, lines []string) {
		for i, l := range lines {
			if i > 0 {
				name = ""
			}
			fmt.Fprintf(&b, "  %-9s %s\n", name, l)
		}
	}
	section("words", []string{strings.Join(x.Tokens, " ")})
	if len(x.Unknown) > 0 {
		section("unknown", []string{strings.Join(x.Unknown, " ")})
	}
	section("phrases", x.Phrases)
	section("figures", x.Values)
	section("places", x.Places)
	section("tags", x.Tags)
	section("second", x.Second)
	section("readings", x.Readings)
	if _, err := u.out.WriteString(b.String()); err != nil {
		return fmt.Errorf("writing an explanation: %w", err)
	}
	return nil
}

// scored is one file's score as programs read it.
type scored struct {
	File     string           `json:"file"`
	Messages int              `json:"messages"`
	Misread  int              `json:"misread"`
	Kinds    map[string]tally `json:"kinds"`
	Values   int              `json:"values"`
	Wrong    int              `json:"wrong_values"`
	Invented int              `json:"invented"`
	Misses   []missed         `json:"misses,omitempty"`
}

type tally struct {
	Right  int     `json:"right"`
	Missed int     `json:"missed"`
	Extra  int     `json:"extra"`
	F1     float64 `json:"f1"`
}

type missed struct {
	Text string   `json:"text"`
	Why  []string `json:"why"`
}

// score reads labelled messages and prints how well they are understood.
func (u *understanding) score(name string, r io.Reader) error {
	cases, err := score.Read(r)
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	rep := score.Run(u.reader, cases)
	if u.how.json {
		return writeJSON(u.out, u.scored(name, rep))
	}
	if _, err := fmt.Fprintf(u.out, "%s: %s", name, rep); err != nil {
		return fmt.Errorf("writing the score: %w", err)
	}
	if !u.how.misses {
		return nil
	}
	for _, m := range rep.Misses {
		if _, err := fmt.Fprintf(u.out, "%s\n   %s\n", m.Case.Text, strings.Join(m.Why, "; ")); err != nil {
			return fmt.Errorf("writing the misses: %w", err)
		}
	}
	return nil
}

func (u *understanding) scored(name string, rep score.Report) scored {
	out := scored{File: name, Messages: rep.Messages, Misread: len(rep.Misses), Values: rep.Values, Wrong: rep.WrongValues, Invented: rep.Invented, Kinds: map[string]tally{}}
	for kind, t := range map[string]score.Tally{
		"readings": rep.Readings, "observations": rep.Observations, "facts": rep.Facts, "intents": rep.Intents, "unclear": rep.Unclear,
	} {
		out.Kinds[kind] = tally{t.Right, t.Missed, t.Extra, t.F1()}
	}
	if u.how.misses {
		for _, m := range rep.Misses {
			out.Misses = append(out.Misses, missed{m.Case.Text, m.Why})
		}
	}
	return out
}
