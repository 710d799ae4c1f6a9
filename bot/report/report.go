package report

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"proveout/bot"
	"proveout/dialog"
	"proveout/knowledge"
)

// Report is a job as it reads.
type Report struct {
	Shop        string    `json:"shop"`
	Job         string    `json:"job"`
	Title       string    `json:"title"`
	Technician  string    `json:"technician"`
	Status      string    `json:"status"`
	Opened      time.Time `json:"opened"`
	Closed      time.Time `json:"closed,omitzero"`
	Cause       string    `json:"cause,omitempty"` // the plain name; empty before a call
	Fault       string    `json:"fault,omitempty"`
	Probability float64   `json:"probability,omitempty"`
	Proof       []string  `json:"proof,omitempty"`
	Repair      string    `json:"repair,omitempty"`
	Passed      []string  `json:"checks_passed,omitempty"`
	Unproven    bool      `json:"unproven,omitempty"` // closed without a check passed or a senior's word
	Rulings     []Ruling  `json:"rulings,omitempty"`
	Knowledge   []string  `json:"knowledge"` // the versions it was answered by
	Said        []Said    `json:"said"`

	words    knowledge.Phrases
	language string
}

// Ruling is a senior's word.
type Ruling struct {
	At      time.Time `json:"at"`
	Who     string    `json:"who"`
	Verdict string    `json:"verdict"`
	Cause   string    `json:"cause,omitempty"` // what it was about
}

// Said is one line of the talk.
type Said struct {
	Seq         int64     `json:"seq"`
	At          time.Time `json:"at"`
	Kind        string    `json:"kind"`
	Who         string    `json:"who"`
	Text        string    `json:"text"`
	Status      string    `json:"status,omitempty"`
	Fault       string    `json:"fault,omitempty"`
	Probability float64   `json:"probability,omitempty"`
	Knowledge   string    `json:"knowledge"`
}

// agent is who answers, in a report.
const agent = "proveout"

// New makes the report of a job from its events, in the words of a language. told are
// the answers as they are said in it, by the number of their event: where the record
// holds them in another. Times are in the shop's zone.
func New(words *knowledge.Base, c bot.Config, zone *time.Location, events []bot.Event, told map[int64]*dialog.Reply) *Report {
	r := &Report{Shop: c.Shop, words: words.Phrases, language: words.Language}
	m := maker{r, words, c, zone, map[string]string{}, told}
	for i := range events {
		if e := &events[i]; e.Name != "" {
			m.called[e.Person] = e.Name
		}
	}
	for i := range events {
		m.take(events[:i], &events[i])
	}
	return r
}

type maker struct {
	*Report
	base *knowledge.Base
	c    bot.Config
	zone *time.Location
	// called are the names people had when they spoke.
	called map[string]string
	told   map[int64]*dialog.Reply
}

func (m *maker) take(before []bot.Event, e *bot.Event) {
	m.Job = e.Stream
	if e.Knowledge != "" && !slices.Contains(m.Knowledge, e.Knowledge) {
		m.Knowledge = append(m.Knowledge, e.Knowledge)
	}
	at := e.At.In(m.zone)
	line := Said{Seq: e.Seq, At: at, Kind: string(e.Kind), Who: m.who(e), Text: e.Text, Knowledge: e.Knowledge}
	switch e.Kind {
	case bot.EventOpened:
		m.Technician, m.Title, m.Opened, m.Status = m.name(e.Person), e.Text, at, dialog.Measuring
		return
	case bot.EventAnswered:
		m.answered(e)
		line.Status, line.Fault, line.Probability = e.Reply.Status, e.Reply.Fault, e.Reply.Probability
		if e.Reply.Silent { // nobody was told
			line.Text = ""
		}
	case bot.EventRuled:
		m.Rulings = append(m.Rulings, Ruling{at, m.name(e.Person), e.Verdict, m.base.FaultName(e.Fault)})
		line.Text = m.happened(before, e)
	case bot.EventClosed:
		m.Closed, m.Unproven, m.Status = at, e.Verdict != bot.ClosedProven, dialog.Closed
		if m.Passed = m.checks(e.Passed); e.Fault != "" {
			m.Fault, m.Cause = e.Fault, m.base.FaultName(e.Fault)
		}
		line.Text = m.happened(before, e)
	case bot.EventAlarm, bot.EventTaken, bot.EventReturned, bot.EventSnoozed:
		line.Text = m.happened(before, e)
	case bot.EventDead:
		line.Text = m.words.Say("report-not-arrived", "who", cmp.Or(m.name(e.For), bot.Masked(e.Place.Conversation)), "reason", e.Text)
	case bot.EventArrived:
		line.Text = m.words.Say("report-arrived")
	case bot.EventDeleted:
		line.Text = m.words.Say("report-deleted")
	case bot.EventEdited:
		line.Text = m.words.Say("report-edited", "text", e.Text)
	default:
	}
	for _, f := range e.Files {
		line.Text = strings.TrimSpace(line.Text + " [" + f.Name + "]")
	}
	if e.Forgotten {
		line.Text = m.words.Say("report-erased")
	}
	if line.Text != "" {
		m.Said = append(m.Said, line)
	}
}

func (m *maker) happened(before []bot.Event, e *bot.Event) string {
	return bot.Happened(m.base, m.zone, m.name, before, e)
}

// answered keeps the call as it last stood.
func (m *maker) answered(e *bot.Event) {
	a := e.Reply
	m.Status = a.Status
	switch {
	case a.Called:
		m.Fault, m.Cause, m.Probability, m.Proof, m.Repair = a.Fault, m.base.FaultName(a.Fault), a.Probability, a.Proof, a.Repair
		if r := m.told[e.Seq]; a.Language != m.language && r != nil && r.Call != nil && r.Call.Fault == a.Fault {
			m.Proof, m.Repair = r.Call.Proof, r.Call.Repair
		}
	case a.Status == dialog.Measuring:
		m.Fault, m.Cause, m.Probability, m.Proof, m.Repair = "", "", 0, nil, ""
	}
}

func (m *maker) who(e *bot.Event) string {
	if e.Person == "" {
		return agent
	}
	return m.name(e.Person)
}

func (m *maker) name(id string) string {
	if p := m.c.People[id]; p != nil && p.Name != "" {
		return p.Name
	}
	return cmp.Or(m.called[id], id)
}

func (m *maker) checks(ids []string) []string {
	var out []string
	for _, id := range ids {
		if c := m.base.Checks[id]; c != nil && c.Ask != "" {
			out = append(out, c.Ask)
		} else {
			out = append(out, strings.ReplaceAll(id, "-", " "))
		}
	}
	return out
}
