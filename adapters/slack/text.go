package slack

import (
	"context"
	"regexp"
	"strings"
	"unicode/utf8"
)

// token matches what Slack writes in place of a mention, a link or a date.
var token = regexp.MustCompile(`<[^<>]*>`)

var (
	toPlain   = strings.NewReplacer("&lt;", "<", "&gt;", ">", "&amp;", "&")
	toEscaped = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;")
)

// plain turns Slack's markup into what the person typed or sees: links by their
// label, people by their name, we ourselves by nothing. An id would read like a
// figure, so none is left in.
func (a *Adapter) plain(ctx context.Context, text string) string {
	end := 0
	var b strings.Builder
	for _, at := range token.FindAllStringIndex(text, -1) {
		b.WriteString(toPlain.Replace(text[end:at[0]]))
		b.WriteString(toPlain.Replace(a.spoken(ctx, text[at[0]+1:at[1]-1])))
		end = at[1]
	}
	b.WriteString(toPlain.Replace(text[end:]))
	return strings.TrimSpace(b.String())
}

// spoken is a token in words.
func (a *Adapter) spoken(ctx context.Context, token string) string {
	what, label, _ := strings.Cut(token, "|")
	switch {
	case strings.HasPrefix(what, "@"):
		return a.mentioned(ctx, what[1:], label)
	case strings.HasPrefix(what, "#"):
		return "#" + first(label, "channel")
	case strings.HasPrefix(what, "!subteam"), strings.HasPrefix(what, "!date"):
		return first(label, "@group")
	case strings.HasPrefix(what, "!"):
		return "@" + what[1:]
	}
	return first(label, what)
}

// escape makes text stand for itself where Slack reads markup.
func escape(text string) string { return toEscaped.Replace(text) }

// cut splits a text into pieces of at most so many characters, at line ends if it
// can, else between words, never within a character. Joined with what it was cut
// at, the pieces are the text.
func cut(text string, most int) []string {
	var out []string
	for utf8.RuneCountInString(text) > most {
		head := string([]rune(text)[:most])
		at := strings.LastIndexByte(head, '\n')
		if at <= 0 {
			at = strings.LastIndexByte(head, ' ')
		}
		if at <= 0 {
			out, text = append(out, head), text[len(head):]
			continue
		}
		out, text = append(out, head[:at]), text[at+1:]
	}
	return append(out, text)
}
