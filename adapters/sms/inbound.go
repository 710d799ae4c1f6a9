package sms

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"proveout/bot"
)

// longestAgo is how long a carrier may have tried to deliver a text; what says it was
// sent before that has a clock that is wrong.
const longestAgo = 7 * 24 * time.Hour

// longestID is the longest id of a gateway's that is kept as it is.
const longestID = 128

// segment is a text that came in, or a part of one.
type segment struct {
	ID        string    `json:"id"`
	Sender    string    `json:"sender"`
	Recipient string    `json:"recipient,omitempty"`
	Text      string    `json:"text"`
	At        time.Time `json:"at"`
	// Of a part: the reference all parts of the text have, which it is, and of how many.
	Reference string `json:"reference,omitempty"`
	Part      int    `json:"part,omitempty"`
	Parts     int    `json:"parts,omitempty"`
}

// takeText takes a text, or a part of one.
func (a *Adapter) takeText(ctx context.Context, f fields) error {
	s, err := a.segment(f)
	if err != nil {
		return err
	}
	if s.Parts > 1 {
		return a.takePart(ctx, s)
	}
	return a.hand(ctx, s)
}

// hand hands a whole text over.
func (a *Adapter) hand(ctx context.Context, s segment) error {
	in := bot.Inbound{
		Channel: bot.Texts, ID: s.ID, Conversation: s.Sender, From: s.Sender, Kind: bot.Said, Text: s.Text, At: s.At,
	}
	if action := a.words[alone(s.Text)]; action != "" {
		in.Kind, in.Action = bot.Consent, action
	}
	return a.receive(ctx, in)
}

// segment reads the fields of a text.
func (a *Adapter) segment(f fields) (segment, error) {
	h := &a.o.Gateway.Receive
	var s segment
	var err error
	if s.Sender, err = a.number(h, f["sender"]); err != nil {
		return s, err
	}
	if r := f["recipient"]; r != "" {
		if s.Recipient, err = a.number(h, r); err != nil {
			s.Recipient = r // a short code, or a name
		}
	}
	s.Text = f["text"]
	sent := f["time"]
	s.At = a.sentAt(h.TimeFormat, sent)
	if s.Part, s.Parts, err = partOf(f["part"], f["parts"]); err != nil {
		return s, err
	}
	s.Reference = f["reference"]
	switch s.ID = f["id"]; {
	case s.ID == "" && sent == "":
		return s, fmt.Errorf("%w: a text with neither an id nor a time of sending", errUnusable)
	case s.ID == "":
		// Without an id the same text of the same second is the same text.
		s.ID = "d-" + digest(s.Sender, sent, s.Text, s.Reference, strconv.Itoa(s.Part))
	case len(s.ID) > longestID:
		s.ID = "d-" + digest(s.ID)
	}
	return s, nil
}

// number writes a number as it is written everywhere here.
func (a *Adapter) number(h *Hook, text string) (string, error) {
	if h.International && text != "" && text[0] != '+' {
		text = "+" + text
	}
	n, err := bot.E164(text, a.o.Region)
	if err != nil {
		return "", fmt.Errorf("%w: the sender is no phone number", errUnusable)
	}
	return n, nil
}

// sentAt is when a text was sent: now when that is not told, cannot be read, lies in
// the future, or so far back that a clock must be wrong.
func (a *Adapter) sentAt(format, text string) time.Time {
	now := a.o.Now()
	if text == "" {
		return now
	}
	at, err := parseTime(format, text)
	if err != nil || at.After(now) || now.Sub(at) > longestAgo {
		return now
	}
	return at
}

// partOf reads which part of how many; a text by itself is 0 of 0.
func partOf(part, parts string) (n, of int, err error) {
	if part == "" && parts == "" || parts == "0" || parts == "1" {
		return 0, 0, nil
	}
	n, err1 := strconv.Atoi(part)
	of, err2 := strconv.Atoi(parts)
	if err1 != nil || err2 != nil || n < 1 || n > of || of > mostParts {
		return 0, 0, fmt.Errorf("%w: no such part", errUnusable)
	}
	return n, of, nil
}

// takeReceipt takes what became of a text sent.
func (a *Adapter) takeReceipt(ctx context.Context, f fields) error {
	h := a.o.Gateway.Receipt
	id, status := f["id"], f["status"]
	in := bot.Inbound{Channel: bot.Texts, ID: "receipt/" + digest(id, status), Kind: bot.Receipt, Of: id, Text: f["reason"], At: a.o.Now()}
	switch {
	case id == "":
		return fmt.Errorf("%w: a receipt of nothing", errUnusable)
	case slices.Contains(h.Delivered, status):
		in.Action, in.Text = bot.Arrived, ""
	case slices.Contains(h.Failed, status):
		in.Action = bot.Failed
		if in.Text == "" {
			in.Text = status
		}
	case slices.Contains(h.Pending, status):
		return nil
	default:
		return fmt.Errorf("%w: a receipt whose status is not described", errUnusable)
	}
	return a.receive(ctx, in)
}

// digest is a name for several texts together.
func digest(texts ...string) string {
	h := sha256.New()
	for _, t := range texts {
		fmt.Fprintf(h, "%d:%s", len(t), t)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// The words carriers want obeyed, unless the description has its own. English: the
// means of revoking consent that 47 CFR 64.1200(a)(10) names, and the replies the
// carriers' handbooks ask for (from memory). Spanish: their usual counterparts, but
// for baja and alta, which on this job are the low side and the high.
func usualWords() Words {
	return Words{
		Stop:  []string{"stop", "stop all", "stopall", "quit", "end", "revoke", "opt out", "optout", "cancel", "unsubscribe", "alto", "parar", "cancelar"},
		Start: []string{"start", "unstop", "iniciar", "empezar"},
		Help:  []string{"help", "info", "ayuda"},
	}
}

// consentWords is what each word means.
func consentWords(w Words) map[string]string {
	usual := usualWords()
	out := map[string]string{}
	for _, kind := range []struct {
		action       string
		words, usual []string
	}{{bot.Help, w.Help, usual.Help}, {bot.Start, w.Start, usual.Start}, {bot.Stop, w.Stop, usual.Stop}} {
		if len(kind.words) == 0 {
			kind.words = kind.usual
		}
		for _, word := range kind.words {
			out[alone(word)] = kind.action
		}
	}
	return out
}

// alone is a whole message as it is compared with a word: small letters and single
// spaces, without what stands around it.
func alone(text string) string {
	text = strings.TrimFunc(text, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	return strings.ToLower(strings.Join(strings.Fields(text), " "))
}
