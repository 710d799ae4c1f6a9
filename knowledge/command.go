package knowledge

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
)

// What only the service can do, by the names lexicon parts give words to.
const (
	CommandNewJob   = "new-job"   // a job begins with what follows
	CommandBoard    = "board"     // the open jobs
	CommandWhole    = "whole"     // the last answer, nothing cut
	CommandTakeOver = "take-over" // a senior takes the thread
	CommandHandBack = "hand-back" // and gives it back
	CommandOneMore  = "one-more"  // a senior wants the reading that follows
	CommandSnooze   = "snooze"    // no alarms for so many minutes
	CommandDrawing  = "drawing"   // the circuit with the meter in its place
)

func commands() []string {
	return []string{CommandNewJob, CommandBoard, CommandWhole, CommandTakeOver, CommandHandBack, CommandOneMore, CommandSnooze, CommandDrawing}
}

// CommandForm makes a pattern of a command a form the whole of a message has: a|b is
// either word, [x] an optional one, <n> a number, <rest> whatever follows. Letters match
// with and without their accents. What stands for <n> or <rest> is the first group.
func CommandForm(pattern string) (*regexp.Regexp, error) {
	var b strings.Builder
	b.WriteString(`^(?is)[\s\pP]*`)
	for word := range strings.FieldsSeq(pattern) {
		rest, opens := strings.CutPrefix(word, "[")
		rest, closes := strings.CutSuffix(rest, "]")
		if opens {
			b.WriteString("(?:")
		}
		switch {
		case rest == "<n>":
			b.WriteString(`(\d{1,4})[\s\pP]*`)
		case rest == "<rest>":
			b.WriteString(`(.*)`)
		case strings.ContainsAny(rest, "[]<>"):
			return nil, fmt.Errorf("%q cannot be read", word)
		default:
			b.WriteString(`(?:` + accents.Replace(rest) + `)(?:[\s\pP]+|$)`)
		}
		if closes {
			b.WriteString(")?")
		}
	}
	b.WriteString("$")
	return regexp.Compile(b.String())
}

// accents lets a letter stand for itself and its accented form, as either is typed.
var accents = strings.NewReplacer("a", "[aá]", "á", "[aá]", "e", "[eé]", "é", "[eé]", "i", "[ií]", "í", "[ií]",
	"o", "[oó]", "ó", "[oó]", "u", "[uúü]", "ú", "[uúü]", "n", "[nñ]", "ñ", "[nñ]", "'", "['’]?")

// commands checks that every language has words for every command, and each a form.
func (c *lexiconCheck) commands(p *LexiconPart) {
	for _, name := range keysOf(p.Commands) {
		if !slices.Contains(commands(), name) {
			c.fail(fmt.Sprintf("no command is called %q", name), "write one of "+strings.Join(commands(), ", "), "commands", name)
		}
		for i, pattern := range p.Commands[name] {
			if _, err := CommandForm(pattern); err != nil {
				c.fail(err.Error(), "write words, a|b for either, [x] for one that may be left out, <n> or <rest>", "commands", name, i)
			}
		}
	}
}

// commanded checks that a language something is said in has words for every command.
func (b *Base) commanded(language string) []string {
	var missing []string
	for _, name := range commands() {
		has := func(p *LexiconPart) bool { return p.Language == language && len(p.Commands[name]) > 0 }
		if !slices.ContainsFunc(b.Lexicon.Sorted(), has) {
			missing = append(missing, name)
		}
	}
	return missing
}
