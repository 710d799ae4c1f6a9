package bot

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"proveout/knowledge"
)

// command is what a message asks of the service rather than of the agent.
type command struct {
	job   string // the job it names
	place int    // the answer to which job: its number in the list, or placeNew
	fresh bool   // a new job
	board bool   // all open jobs
	whole bool   // the last answer, nothing cut
	rest  string // what is left for the agent
}

const placeNew = -1

// The ways to say which job is meant, in any language.
var (
	namesJob  = regexp.MustCompile(`^(?i)\s*#?\s*j-?\s*(\d{4,9})\b[\s:,.-]*`)
	namesBare = regexp.MustCompile(`^\s*(\d{4,9})\s*$`)
	namesItem = regexp.MustCompile(`^\s*#?(\d)\s*[.)]?\s*$`)
)

// commands are the forms of a message that asks something of the service, by what.
type commands map[string][]*regexp.Regexp

func newCommands(base *knowledge.Base) (commands, error) {
	c := commands{}
	for _, p := range base.Lexicon.Sorted() {
		for name, patterns := range p.Commands {
			for _, pattern := range patterns {
				form, err := knowledge.CommandForm(pattern)
				if err != nil {
					return nil, fmt.Errorf("reading the words for %s: %w", name, err)
				}
				c[name] = append(c[name], form)
			}
		}
	}
	return c, nil
}

// asks says whether a text is a command, and what follows in it.
func (all commands) asks(name, text string) (rest string, ok bool) {
	for _, form := range all[name] {
		if m := form.FindStringSubmatch(text); m != nil {
			return strings.Join(m[1:], ""), true
		}
	}
	return "", false
}

func (all commands) parse(text string) command {
	c := command{rest: text}
	if m := namesJob.FindStringSubmatch(text); m != nil {
		c.job, c.rest = "J-"+m[1], text[len(m[0]):]
		return c
	}
	if m := namesBare.FindStringSubmatch(text); m != nil {
		c.job, c.rest = "J-"+m[1], ""
		return c
	}
	if m := namesItem.FindStringSubmatch(text); m != nil {
		c.place, _ = strconv.Atoi(m[1]) // one digit
		c.rest = ""
		return c
	}
	if rest, ok := all.asks(knowledge.CommandNewJob, text); ok {
		c.fresh, c.place, c.rest = true, placeNew, rest
	}
	_, c.whole = all.asks(knowledge.CommandWhole, text)
	_, c.board = all.asks(knowledge.CommandBoard, text)
	return c
}

// instruments lists what readings are taken with.
func instruments(b *knowledge.Base) []string {
	var out []string
	for _, m := range b.Measurements {
		if m.Instrument != "" && !slices.Contains(out, m.Instrument) {
			out = append(out, m.Instrument)
		}
	}
	slices.Sort(out)
	return out
}

func contains(list []string, s string) bool {
	return slices.ContainsFunc(list, func(one string) bool { return strings.EqualFold(one, s) })
}

// short is the beginning of a text, for a list.
func short(s string) string {
	const most = 60
	s = strings.Join(strings.Fields(s), " ")
	if r := []rune(s); len(r) > most {
		return strings.TrimSpace(string(r[:most-1])) + "…"
	}
	return s
}
