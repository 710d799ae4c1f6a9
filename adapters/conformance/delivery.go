package conformance

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"proveout/bot"
)

func shown(ctx context.Context, c Channel) error {
	for i, text := range awkward() {
		if err := send(ctx, c, fmt.Sprint("out-", i), text); err != nil {
			return fmt.Errorf("sending %q: %w", text, err)
		}
	}
	if got := c.Carrier.Shown(); !slices.Equal(got, awkward()) {
		return fmt.Errorf("%q is shown as %q", awkward(), got)
	}
	return nil
}

func outInOrder(ctx context.Context, c Channel) error {
	var want []string
	for i := range 20 {
		want = append(want, fmt.Sprint("step ", i))
		if err := send(ctx, c, fmt.Sprint("out-", i), want[i]); err != nil {
			return fmt.Errorf("sending: %w", err)
		}
	}
	if got := c.Carrier.Shown(); !slices.Equal(got, want) {
		return fmt.Errorf("%q is shown as %q", want, got)
	}
	return nil
}

// counted is a text of so many numbered words, of more bytes than characters.
func counted(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "µΩ%d ", i)
		if i%50 == 49 {
			b.WriteString("\n")
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func long(ctx context.Context, c Channel) error {
	text := counted(3000)
	if err := send(ctx, c, "out", text); err != nil {
		return fmt.Errorf("sending %d characters: %w", len(text), err)
	}
	if got := words(c); got != text {
		return fmt.Errorf("%d characters are shown as %d", len(text), len(got))
	}
	unbroken := strings.Repeat("µ", 9000)
	if err := send(ctx, c, "out-2", unbroken); err != nil {
		return fmt.Errorf("sending a word of %d characters: %w", len(unbroken), err)
	}
	got := strings.Join(c.Carrier.Shown(), "")
	if n := strings.Count(got, "µ") - strings.Count(text, "µ"); n != 9000 || !utf8.ValidString(got) {
		return fmt.Errorf("of a word of 9000 characters %d are shown", n)
	}
	return nil
}

func resumed(ctx context.Context, c Channel) error {
	text := counted(3000)
	for _, how := range []Refusal{Broken, CutOff, RateLimited} {
		before := words(c)
		c.Carrier.Refuse(1, how)
		id := fmt.Sprint("out-", how)
		if err := send(ctx, c, id, text); err == nil {
			return errors.New("a message refused in its middle is no error")
		}
		if err := send(ctx, c, id, text); err != nil {
			return fmt.Errorf("sending it again: %w", err)
		}
		if got := strings.TrimSpace(strings.TrimPrefix(words(c), before)); got != text {
			return fmt.Errorf("sent in two goes, %d characters are shown as %d", len(text), len(got))
		}
	}
	return nil
}

func once(ctx context.Context, c Channel) error {
	c.Carrier.Refuse(0, Lost)
	if err := send(ctx, c, "out", "read it once more"); err == nil {
		return errors.New("no answer came, and yet it is no error")
	}
	if err := send(ctx, c, "out", "read it once more"); err != nil {
		return fmt.Errorf("sending it again: %w", err)
	}
	if got := c.Carrier.Shown(); len(got) != 1 {
		return fmt.Errorf("one message is shown as %q", got)
	}
	return nil
}

// refused sends what the network refuses, and gives what the adapter says of it.
func refused(ctx context.Context, c Channel, how Refusal) (*bot.DeliveryError, error) {
	c.Carrier.Refuse(0, how)
	err := send(ctx, c, "out", "hello")
	if err == nil {
		return nil, errors.New("the network refused the message, and yet it is no error")
	}
	d, ok := errors.AsType[*bot.DeliveryError](err)
	if !ok {
		return nil, fmt.Errorf("the error does not say whether to try again: %w", err)
	}
	if d.Reason == "" || strings.ContainsAny(d.Reason, " \n") {
		return nil, fmt.Errorf("the reason %q is no label", d.Reason)
	}
	return d, nil
}

func limited(ctx context.Context, c Channel) error {
	d, err := refused(ctx, c, RateLimited)
	if err != nil {
		return err
	}
	if !d.Retry || d.After != Pause {
		return fmt.Errorf("told to wait %v, the adapter says retry %t after %v", Pause, d.Retry, d.After)
	}
	return again(ctx, c)
}

func broken(ctx context.Context, c Channel) error {
	for _, how := range []Refusal{Broken, CutOff} {
		d, err := refused(ctx, c, how)
		if err != nil {
			return err
		}
		if !d.Retry {
			return fmt.Errorf("a fault of the network's is given up: %w", d)
		}
	}
	return again(ctx, c)
}

// again sends the refused message once more, and wants it there.
func again(ctx context.Context, c Channel) error {
	if err := send(ctx, c, "out", "hello"); err != nil {
		return fmt.Errorf("sending it again: %w", err)
	}
	if got := c.Carrier.Shown(); len(got) != 1 {
		return fmt.Errorf("one message is shown as %q", got)
	}
	return nil
}

func rejected(ctx context.Context, c Channel) error {
	d, err := refused(ctx, c, Rejected)
	if err != nil {
		return err
	}
	if d.Retry {
		return fmt.Errorf("a message refused for good is tried again: %w", d)
	}
	return nil
}

func ended(ctx context.Context, c Channel) error {
	ctx, cancel := context.WithCancel(ctx)
	cancel()
	start := time.Now()
	err := send(ctx, c, "out", "hello")
	d, ok := errors.AsType[*bot.DeliveryError](err)
	switch took := time.Since(start); {
	case err == nil:
		return errors.New("sent after its context ended, it is no error")
	case !ok || !d.Retry || took > 5*time.Second:
		return fmt.Errorf("after %v the send ended: %w", took.Round(time.Millisecond), err)
	}
	return nil
}

func secret(ctx context.Context, c Channel) error {
	for _, how := range []Refusal{RateLimited, Broken, Rejected, CutOff, Lost} {
		c.Carrier.Refuse(0, how)
		err := send(ctx, c, fmt.Sprint("out-", how), "hello")
		for ; err != nil; err = errors.Unwrap(err) {
			for _, secret := range c.Carrier.Secrets() {
				if strings.Contains(fmt.Sprintf("%v %+v %#v", err, err, err), secret) {
					return errors.New("an error tells a secret")
				}
			}
		}
	}
	return nil
}
