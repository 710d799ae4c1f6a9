package dialog

import (
	"cmp"
	"strings"
	"unicode"

	"proveout/knowledge"
)

// english is the language the knowledge itself is written in.
const english = "en"

// wordsToTell is how many words a message needs before it ends a talk's language: a
// man who writes Spanish says "low side 60 psi" in the trade's English.
const wordsToTell = 4

// language is the one a message is answered in: what is set for its writer, else the
// one he writes in, else the one the talk is in.
func (t *turn) language() string {
	if t.msg.Language != "" {
		return t.msg.Language
	}
	return cmp.Or(tells(t.msg.Text, t.read.Language), t.job.language)
}

// tells is the language a text was read as being in, where it has the words to tell.
func tells(text, language string) string {
	if language == english && countWords(text) < wordsToTell {
		return ""
	}
	return language
}

// speak has the turn answered in the language of its writer; the talk goes on in the
// technician's.
func (t *turn) speak() {
	language := t.language()
	if a := t.tongues[language]; a != nil {
		t.Agent = a
	}
	if t.msg.From == Tech {
		t.job.language = language
	}
}

func countWords(text string) int {
	n := 0
	for w := range strings.FieldsSeq(text) {
		if strings.ContainsFunc(w, unicode.IsLetter) {
			n++
		}
	}
	return n
}

// dashed makes a phrase's name of a figure of speech: "clamp meter".
func dashed(s string) string {
	return strings.NewReplacer(" ", "-", "/", "-", "'", "").Replace(s)
}

// subject is the thing an observation is of.
func (a *Agent) subject(id string) string {
	if o := a.base.Observations[id]; o != nil && o.Name != "" {
		return o.Name
	}
	return plain(id)
}

// seen is the state an observation found, said alone.
func (a *Agent) seen(id, state string) string {
	if o := a.base.Observations[id]; o != nil && o.Answers[state] != "" {
		return o.Answers[state]
	}
	return plain(state)
}

// known is a fact's value with its unit.
func (a *Agent) known(id, value string) string {
	k := a.base.Facts[id]
	switch {
	case k == nil:
		return value
	case k.Answers[value] != "":
		return k.Answers[value]
	case k.Unit != "":
		return value + " " + a.unitShown(k.Unit)
	}
	return value
}

func (a *Agent) unitShown(u string) string {
	switch u {
	case "uF":
		return "µF"
	case "F":
		return "°F"
	}
	return a.base.Phrases.Or("unit-"+u, u)
}

// check is a check in a list.
func (a *Agent) check(id string) string {
	if c := a.base.Checks[id]; c != nil && c.Name != "" {
		return c.Name
	}
	return plain(id)
}

// tool is an instrument in words.
func (a *Agent) tool(name string) string { return a.base.Phrases.Or("tool-"+dashed(name), name) }

// row is a reading's name in a table: its quantity, and which pressure.
func (a *Agent) row(id knowledge.ReadingID) string {
	if s := a.base.Phrases["row-"+dashed(string(id))]; s != "" {
		return s
	}
	if id.Quantity() == "pressure" {
		return plain(id.Point()) + " " + id.Quantity()
	}
	if m := a.base.Measurements[id]; m != nil && m.From != nil {
		return plain(id.Quantity())
	}
	return a.point(id)
}

// percent never claims certainty.
func (a *Agent) percent(p float64) string { return a.base.Phrases.Percent(p) }
