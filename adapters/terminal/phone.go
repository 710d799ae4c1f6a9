package terminal

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"

	"proveout/bot"
)

// Channel is the name of this channel in messages, people's identities and the
// configuration. Its identities are tech, senior and dispatcher.
const Channel = "terminal"

// Service is what a phone talks to.
type Service interface {
	Receive(ctx context.Context, in bot.Inbound) error
	Flush(ctx context.Context) error
}

// Phone is the technician's phone at a terminal. What goes to anybody else is shown
// with whom it goes to.
type Phone struct {
	mu    sync.Mutex
	out   *bufio.Writer
	names map[string]string
	say   bot.Phrases
	n     int
	quiet bool
}

var _ bot.Sender = (*Phone)(nil)

// NewPhone makes a phone that speaks a language; names are those of people, by identity.
func NewPhone(out io.Writer, names map[string]string, say bot.Phrases) *Phone {
	return &Phone{out: bufio.NewWriter(out), names: names, say: say}
}

// Quiet shows nothing of what is sent until it is told otherwise.
func (p *Phone) Quiet(on bool) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.quiet = on
}

// Send shows a message.
func (p *Phone) Send(_ context.Context, m bot.Outbound) (string, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.n++
	if p.quiet {
		return fmt.Sprint(p.n), nil
	}
	to := m.To
	if m.Conversation != "" {
		to = m.Conversation
	}
	if to != bot.Tech {
		name := p.names[to]
		if name == "" {
			name = to
		}
		fmt.Fprintf(p.out, "  (%s)\n", p.say.Say("demo-to", "name", name))
	}
	for _, l := range shown(&m) {
		mark := "  "
		if l.Part == bot.Caution || l.Part == bot.Safety {
			mark = "! "
		}
		fmt.Fprintf(p.out, "%s%s\n", mark, l.Text)
	}
	if m.Drawing != nil {
		fmt.Fprint(p.out, m.Drawing.Text())
	}
	if err := p.out.Flush(); err != nil {
		return "", &bot.DeliveryError{Reason: "closed", Err: err}
	}
	return fmt.Sprint(p.n), nil
}

// shown are a message's lines.
func shown(m *bot.Outbound) []bot.Line {
	if m.Reply != nil && len(m.Reply.Lines) > 0 {
		return m.Reply.Lines
	}
	var out []bot.Line
	for text := range strings.SplitSeq(m.Text, "\n") {
		out = append(out, bot.Line{Text: text})
	}
	return out
}

// Say has a person of the terminal say something and waits until it is answered. at
// is when; messages said at different times are different messages.
func (p *Phone) Say(ctx context.Context, to Service, who, text string, at time.Time) error {
	in := bot.Inbound{
		Channel: Channel, ID: fmt.Sprintf("%s-%d", who, at.UnixNano()), Conversation: who,
		From: who, Kind: bot.Said, Text: text, At: at,
	}
	if err := to.Receive(ctx, in); err != nil {
		return err
	}
	return to.Flush(ctx)
}

// Talk has people talk with the service until the input ends or one leaves. A line is
// the technician's unless it begins with "senior:" or "dispatcher:".
func (p *Phone) Talk(ctx context.Context, to Service, prompt string, in io.Reader) error {
	err := lines(ctx, in, func() error {
		p.mu.Lock()
		defer p.mu.Unlock()
		fmt.Fprintf(p.out, "\n%s", prompt)
		return p.out.Flush()
	}, func(line string) (bool, error) {
		line = strings.TrimSpace(line)
		if line == "" {
			return true, nil
		}
		if leaves(line) {
			return false, nil
		}
		m := message(line)
		return true, p.Say(ctx, to, m.From, m.Text, time.Now())
	})
	if err != nil {
		return fmt.Errorf("talking at the terminal: %w", err)
	}
	return nil
}

// Print shows a text as it is.
func (p *Phone) Print(text string) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	if _, err := p.out.WriteString(text); err != nil {
		return err
	}
	return p.out.Flush()
}
