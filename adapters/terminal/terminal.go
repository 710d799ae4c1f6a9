// Package terminal is the conversation at a terminal: a line in, a reply out, for
// a person or, as JSON, for a program.
package terminal

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"proveout/bot"
)

// Desk is what the terminal talks to.
type Desk interface {
	Opening(shop string) string
	Receive(bot.Message) *bot.Reply
}

// Chat talks with a person until the input ends or he leaves. A line that starts
// with "senior:" or "dispatcher:" is from that person. prompt is printed before
// each line when it is not empty.
func Chat(ctx context.Context, desk Desk, shop, prompt string, in io.Reader, out io.Writer) error {
	w := bufio.NewWriter(out)
	fmt.Fprintf(w, "%s\n", desk.Opening(shop))
	err := lines(ctx, in, func() error {
		fmt.Fprintf(w, "\n%s", prompt)
		return w.Flush()
	}, func(line string) (bool, error) {
		line = strings.TrimSpace(line)
		if line == "" {
			return true, nil
		}
		if leaves(line) {
			return false, nil
		}
		for _, l := range desk.Receive(message(line)).Lines {
			mark := "  "
			if l.Part == bot.Caution || l.Part == bot.Safety {
				mark = "! "
			}
			fmt.Fprintf(w, "%s%s\n", mark, l.Text)
		}
		return true, w.Flush()
	})
	if err != nil {
		return fmt.Errorf("talking at the terminal: %w", err)
	}
	fmt.Fprintln(w)
	return w.Flush()
}

func leaves(line string) bool {
	return strings.EqualFold(line, "exit") || strings.EqualFold(line, "quit") || strings.EqualFold(line, "bye")
}

// message reads who a line is from.
func message(line string) bot.Message {
	for _, from := range []string{bot.Senior, bot.Dispatcher, bot.Tech} {
		if len(line) > len(from) && strings.EqualFold(line[:len(from)], from) && line[len(from)] == ':' {
			return bot.Message{From: from, Text: strings.TrimSpace(line[len(from)+1:])}
		}
	}
	return bot.Message{From: bot.Tech, Text: line}
}

// ChatJSON talks with a program: a message a line, plain text or
// {"from": …, "text": …}, and an object a reply. A line that cannot be read gets
// {"error": …} and the talk goes on; the error returned says how many there were.
func ChatJSON(ctx context.Context, desk Desk, in io.Reader, out io.Writer) error {
	w := bufio.NewWriter(out)
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	n, bad := 0, 0
	err := lines(ctx, in, w.Flush, func(line string) (bool, error) {
		n++
		m, err := parse(line)
		if err != nil {
			bad++
			return true, enc.Encode(map[string]string{"error": fmt.Sprintf("line %d: %v", n, err)})
		}
		return true, enc.Encode(desk.Receive(m))
	})
	if err != nil {
		return fmt.Errorf("talking in JSON: %w", err)
	}
	if bad > 0 {
		return UnreadError(bad)
	}
	return nil
}

// UnreadError counts the lines of a talk that could not be read.
type UnreadError int

// Error says how many and where to look.
func (n UnreadError) Error() string {
	return fmt.Sprintf("%d lines could not be read; each is answered with an error that names the mend", int(n))
}

func parse(line string) (bot.Message, error) {
	if !strings.HasPrefix(strings.TrimSpace(line), "{") {
		return bot.Message{From: bot.Tech, Text: line}, nil
	}
	m := struct{ From, Name, Text string }{From: bot.Tech}
	if err := json.Unmarshal([]byte(line), &m); err != nil {
		return bot.Message{}, fmt.Errorf("%w; write plain text or {\"from\": \"tech\", \"text\": \"…\"}", err)
	}
	switch m.From {
	case bot.Tech, bot.Senior, bot.Dispatcher:
		return bot.Message{From: m.From, Name: m.Name, Text: m.Text}, nil
	}
	return bot.Message{}, fmt.Errorf("from %q is nobody known; write tech, senior or dispatcher", m.From)
}

// lines hands over each line of any length until the input or the context ends.
func lines(ctx context.Context, in io.Reader, before func() error, take func(string) (bool, error)) error {
	r := bufio.NewReader(in)
	for ctx.Err() == nil {
		if err := before(); err != nil {
			return err
		}
		line, err := r.ReadString('\n')
		if line != "" {
			more, err := take(strings.TrimRight(line, "\r\n"))
			if err != nil || !more {
				return err
			}
		}
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
	}
	return nil
}
