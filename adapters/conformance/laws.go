package conformance

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"proveout/bot"
)

// Law is a promise every adapter keeps. Check returns what was broken.
type Law struct {
	Name  string
	Check func(ctx context.Context, c Channel) error
}

// Laws lists them all. Each wants a channel of its own.
func Laws() []Law {
	return []Law{
		{"a message says who said what where and when", whole},
		{"text comes in as it was typed", typed},
		{"two quick messages are two", quick},
		{"a repeat keeps its id", repeated},
		{"messages keep their order", inOrder},
		{"nothing is acknowledged before it is stored", stored},
		{"text goes out as it is", shown},
		{"messages go out in order", outInOrder},
		{"what is too long goes out whole", long},
		{"a long message goes on where it was stopped", resumed},
		{"a message whose answer was lost is shown once", once},
		{"a rate limit says when to try again", limited},
		{"a fault of the network's is tried again", broken},
		{"a message refused for good is not tried again", rejected},
		{"a send ends with its context", ended},
		{"no error tells a secret", secret},
	}
}

// awkward are texts that a network might take for something else.
func awkward() []string {
	return []string{
		"psi is < 130 & > 100", "a &amp; b &lt;c&gt;", "<!channel> <@U0SAM> <https://larkmoor.example|here>", "*not bold* _nor this_ ~nor that~ `code`",
		"C to HERM 28 µF, 3.4 kΩ, 75 °F", "{\"json\": true}", "100 % of \"quoted\" \\ text", "@everyone #shop http://larkmoor.example/a?b=1&c=2",
	}
}

func whole(ctx context.Context, c Channel) error {
	if err := c.People.Say(ctx, "no cooling, blower runs"); err != nil {
		return fmt.Errorf("saying something: %w", err)
	}
	got := c.Desk.Got()
	if len(got) != 1 {
		return fmt.Errorf("one message came in %d times", len(got))
	}
	in := got[0]
	switch {
	case in.Channel == "", in.ID == "", in.From == "", in.At.IsZero():
		return fmt.Errorf("the channel, the id, the sender or the time is missing: %+v", in)
	case in.Conversation != c.Conversation:
		return fmt.Errorf("the message came from %q, not from %q", in.Conversation, c.Conversation)
	case in.Kind != bot.Said, in.Text != "no cooling, blower runs":
		return fmt.Errorf("the message came in as %s %q", in.Kind, in.Text)
	}
	return nil
}

func typed(ctx context.Context, c Channel) error {
	for i, text := range awkward() {
		if err := c.People.Say(ctx, text); err != nil {
			return fmt.Errorf("saying %q: %w", text, err)
		}
		if got := c.Desk.Got(); len(got) <= i || got[i].Text != text {
			return fmt.Errorf("%q came in as %+v", text, got[min(i, len(got)):])
		}
	}
	return nil
}

func quick(ctx context.Context, c Channel) error {
	for range 2 {
		if err := c.People.Say(ctx, "28"); err != nil {
			return fmt.Errorf("saying the same twice: %w", err)
		}
	}
	got := c.Desk.Got()
	if len(got) != 2 || got[0].ID == got[1].ID {
		return fmt.Errorf("two messages came in as %+v", got)
	}
	return nil
}

func repeated(ctx context.Context, c Channel) error {
	if err := c.People.Say(ctx, "28"); err != nil {
		return fmt.Errorf("saying something: %w", err)
	}
	if err := c.People.Again(ctx); err != nil {
		return fmt.Errorf("a repeat was not acknowledged: %w", err)
	}
	got := c.Desk.Got()
	if last := got[len(got)-1]; last.ID != got[0].ID || last.Text != got[0].Text || !last.At.Equal(got[0].At) {
		return fmt.Errorf("the repeat is another message: %+v and %+v", got[0], last)
	}
	return nil
}

func inOrder(ctx context.Context, c Channel) error {
	const n = 20
	for i := range n {
		if err := c.People.Say(ctx, fmt.Sprint("reading ", i)); err != nil {
			return fmt.Errorf("saying something: %w", err)
		}
	}
	got := c.Desk.Got()
	if len(got) != n {
		return fmt.Errorf("%d messages came in as %d", n, len(got))
	}
	for i, in := range got {
		if in.Text != fmt.Sprint("reading ", i) || i > 0 && in.At.Before(got[i-1].At) {
			return fmt.Errorf("message %d came in as %q of %v", i, in.Text, in.At)
		}
	}
	return nil
}

// aLittle is how long a law waits for what must not come.
const aLittle = 300 * time.Millisecond

func stored(ctx context.Context, c Channel) error {
	c.Desk.Refuse(1)
	brief, cancel := context.WithTimeout(ctx, aLittle)
	defer cancel()
	if err := c.People.Say(brief, "28"); err == nil {
		return errors.New("the desk refused the message, and yet it was acknowledged")
	}
	if err := c.People.Again(ctx); err != nil {
		return fmt.Errorf("delivered again, the message was not taken: %w", err)
	}
	if got := c.Desk.Got(); len(got) != 1 || got[0].Text != "28" {
		return fmt.Errorf("delivered again, the message came in as %+v", got)
	}
	return nil
}

// send sends what somebody said under an id.
func send(ctx context.Context, c Channel, id, text string) error {
	got, err := c.Sender.Send(ctx, bot.Outbound{ID: id, Channel: "any", Conversation: c.Conversation, Text: text, Quoted: true})
	if err == nil && got == "" {
		return errors.New("a message that was delivered has no id")
	}
	return err
}

// words joins what is shown, however it was split.
func words(c Channel) string {
	return strings.Join(strings.Fields(strings.Join(c.Carrier.Shown(), " ")), " ")
}
