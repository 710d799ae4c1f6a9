package bot

import (
	"regexp"
	"slices"
	"strings"
)

// Gone stands where a person stood who was forgotten.
const Gone = "gone"

// Unname takes a person out of a job's events: his words and where he wrote from, and
// his name where others or the agent said it.
func Unname(events []Event, person string) {
	var names []string
	for i := range events {
		if e := &events[i]; e.Person == person && e.Name != "" && !slices.Contains(names, e.Name) {
			names = append(names, regexp.QuoteMeta(e.Name))
		}
	}
	named := regexp.MustCompile(`\b(?:` + strings.Join(names, "|") + `)\b`)
	for i := range events {
		e := &events[i]
		if len(names) > 0 {
			e.Text = named.ReplaceAllString(e.Text, "somebody")
		}
		if e.Person == person {
			e.Person, e.Name, e.Text, e.Files, e.Place, e.Forgotten = Gone, "", "", nil, Place{}, true
		}
		if e.For == person {
			e.For = Gone
		}
	}
}

// StillOn is why a person cannot be forgotten who is on an open job.
func StillOn(job, person string) *Error {
	return &Error{Code: CodeInvalid, Text: "job " + job + " is open and " + person + " is on it; close it or forget it first"}
}
