package bot

import (
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

// The ways to say what only the service can do.
var (
	namesJob  = regexp.MustCompile(`^(?i)\s*#?\s*j-?\s*(\d{4,9})\b[\s:,.-]*`)
	namesBare = regexp.MustCompile(`^\s*(\d{4,9})\s*$`)
	namesItem = regexp.MustCompile(`^\s*#?(\d)\s*[.)]?\s*$`)
	asksNew   = regexp.MustCompile(`^(?i)\s*(?:(?:a |the )?new (?:job|call)\b|next (?:job|call|house)\b|(?:a )?new(?: one)?[\s.!]*$|(?:un )?(?:trabajo nuevo|nuevo trabajo)\b|nuevo[\s.!]*$)\s*[:,.-]?\s*`)
	asksBoard = regexp.MustCompile(`^(?i)\s*/?(?:proveout\s+)?(?:status|jobs|open jobs|all jobs|board|where are we)\s*[?.!]*\s*$`)
	asksWhole = regexp.MustCompile(`^(?i)\s*(?:more|m[aá]s)\s*[.!]*\s*$`)
	asksTake  = regexp.MustCompile(`^(?i)\s*(?:(?:i'?ll |i will |let me )?tak(?:e|ing) (?:it|this|that|over)(?: over| from here)?|i'?ve got (?:it|this)|mine)\s*[.!]*\s*$`)
	asksBack  = regexp.MustCompile(`^(?i)\s*(?:hand(?:ing)? (?:it )?back|back to you|over to (?:you|proveout|the agent)|your turn)\b.*$`)
	asksMore  = regexp.MustCompile(`^(?i)\s*(?:(?:ask (?:him |her |them )?for)|(?:one more(?: reading)?(?: first)?\s*[:,-]?)|(?:first (?:get|read|take)))\s*(.*)$`)
	asksPause = regexp.MustCompile(`^(?i)\s*snooze(?:\s+(\d{1,4}))?(?:\s*(?:m|min|minutes))?\s*[.!]*\s*$`)
)

func parseCommand(text string) command {
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
	if m := asksNew.FindString(text); m != "" {
		c.fresh, c.place, c.rest = true, placeNew, text[len(m):]
	}
	c.whole = asksWhole.MatchString(text)
	c.board = asksBoard.MatchString(text)
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
