package slack

import (
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/slack-go/slack"

	"proveout/bot"
)

// What a message may hold. Slack cuts a text after 40,000 characters and advises
// 4,000; it takes 50 blocks, 25 buttons in one, 75 characters on a button, 2,000
// behind it. Source: Slack's reference of chat.postMessage and of blocks.
const (
	mostInMessage = 3500
	mostInPiece   = 2500
	mostPieces    = 60
	mostButtons   = 25
	mostOnButton  = 75
	mostInValue   = 2000
)

// actionPrefix marks the buttons that are ours to understand, placePrefix the block
// of a button in the app's home, which carries its job's place.
const (
	actionPrefix = "proveout/"
	placePrefix  = "place/"
)

// warning stands before what a person must not miss.
const warning = "⚠ "

// piece is a run of a reply's text that is shown alike.
type piece struct {
	part bot.Part
	text string
}

// message is what one call sends.
type message struct {
	pieces  []piece
	buttons []bot.Button
	say     bot.Phrases // what a button asks first
}

// compose lays a reply out, in as many messages as it needs; the buttons stand under
// the last.
func compose(m bot.Outbound, say bot.Phrases) []message {
	out, size := []message{{}}, 0
	for _, p := range pieces(m) {
		n := utf8.RuneCountInString(p.text)
		if last := &out[len(out)-1]; size+n > mostInMessage && size > 0 || len(last.pieces) == mostPieces {
			out, size = append(out, message{}), 0
		}
		last := &out[len(out)-1]
		last.pieces = append(last.pieces, p)
		size += n + 1
	}
	last := &out[len(out)-1]
	last.buttons, last.say = m.Buttons[:min(len(m.Buttons), mostButtons)], say
	return out
}

// pieces are a reply's lines, those of a table together, none longer than a piece
// may be. A message that is no reply, or whose parts are not known, is its text.
func pieces(m bot.Outbound) []piece {
	lines := []bot.Line{{Text: m.Text}}
	if m.Reply != nil && len(m.Reply.Lines) > 0 {
		lines = m.Reply.Lines
	}
	var out []piece
	for i, l := range lines {
		text := strings.ToValidUTF8(l.Text, "\uFFFD")
		if l.Part == bot.Table && i > 0 && lines[i-1].Part == bot.Table {
			if last := &out[len(out)-1]; utf8.RuneCountInString(last.text)+1+utf8.RuneCountInString(text) <= mostInPiece {
				last.text += "\n" + text
				continue
			}
		}
		if l.Part == bot.Safety || l.Part == bot.Caution {
			text = warning + text
		}
		for _, t := range cut(text, mostInPiece) {
			if strings.TrimSpace(t) != "" {
				out = append(out, piece{l.Part, t})
			}
		}
	}
	return out
}

// fallback is the message where no blocks are shown: in a notification, to a screen
// reader, in an old client.
func (m message) fallback() string {
	texts := make([]string, len(m.pieces))
	for i, p := range m.pieces {
		texts[i] = escape(p.text)
	}
	return strings.Join(texts, "\n")
}

// blocks are the message as Slack lays it out. The text stands in literal elements,
// where nothing is read as markup.
func (m message) blocks() []slack.Block {
	var elements []slack.RichTextElement
	var run []slack.RichTextSectionElement
	flush := func() {
		if len(run) > 0 {
			elements = append(elements, slack.NewRichTextSection(run...))
			run = nil
		}
	}
	for _, p := range m.pieces {
		switch p.part {
		case bot.Table:
			flush()
			elements = append(elements, &slack.RichTextPreformatted{Type: slack.RTEPreformatted, Elements: literal(p.text, nil)})
		case bot.Safety:
			flush()
			elements = append(elements, &slack.RichTextQuote{Type: slack.RTEQuote, Elements: literal(p.text, &slack.RichTextSectionTextStyle{Bold: true})})
		case bot.Caution:
			flush()
			elements = append(elements, &slack.RichTextQuote{Type: slack.RTEQuote, Elements: literal(p.text, nil)})
		default:
			if len(run) > 0 {
				run = append(run, literal("\n", nil)...)
			}
			run = append(run, literal(p.text, style(p.part))...)
		}
	}
	flush()
	out := []slack.Block{slack.NewRichTextBlock("", elements...)}
	if len(m.buttons) > 0 {
		out = append(out, buttons(m.say, "", m.buttons))
	}
	return out
}

// style sets a part of a reply apart: what to do and what is called stand out, what
// was understood and what answers would mean stand back.
func style(p bot.Part) *slack.RichTextSectionTextStyle {
	switch p {
	case bot.Verdict, bot.Proof, bot.Next:
		return &slack.RichTextSectionTextStyle{Bold: true}
	case bot.Heard, bot.Means:
		return &slack.RichTextSectionTextStyle{Italic: true}
	default:
		return nil
	}
}

func literal(text string, style *slack.RichTextSectionTextStyle) []slack.RichTextSectionElement {
	return []slack.RichTextSectionElement{slack.NewRichTextSectionTextElement(text, style)}
}

// buttons is a row of buttons. One that changes or ends something asks once more.
func buttons(say bot.Phrases, id string, bs []bot.Button) *slack.ActionBlock {
	var elements []slack.BlockElement
	for i, b := range bs {
		e := slack.NewButtonBlockElement(actionPrefix+strconv.Itoa(i), b.Action, words(short(b.Label, mostOnButton)))
		if b.Danger {
			e.Style = slack.StyleDanger
			e.Confirm = slack.NewConfirmationBlockObject(words(say.Say("button-sure")), words(short(b.Label, 300)), words(say.Say("button-yes")), words(say.Say("button-no")))
		}
		elements = append(elements, e)
	}
	return slack.NewActionBlock(id, elements...)
}

func words(text string) *slack.TextBlockObject {
	return slack.NewTextBlockObject(slack.PlainTextType, text, false, false)
}

// short cuts a label to so many characters.
func short(text string, most int) string {
	if r := []rune(text); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return text
}
