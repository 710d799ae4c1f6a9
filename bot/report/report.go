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

// New makes the report of a job from its events. Times are in the shop's zone.
func New(base *knowledge.Base, c bot.Config, zone *time.Location, events []bot.Event) *Report {
	r := &Report{Shop: c.Shop}
	m := maker{r, base, c, zone, map[string]string{}}
	for i := range events {
		if e := &events[i]; e.Name != "" {
			m.called[e.Person] = e.Name
		}
	}
	for i := range events {
		m.take(&events[i])
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
}

func (m *maker) take(e *bot.Event) {
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
		m.answered(e.Reply)
		line.Status, line.Fault, line.Probability = e.Reply.Status, e.Reply.Fault, e.Reply.Probability
		if e.Reply.Silent { // nobody was told
			line.Text = ""
		}
	case bot.EventRuled:
		m.Rulings = append(m.Rulings, Ruling{at, m.name(e.Person), e.Verdict, m.cause(e.Fault)})
		if line.Text == "" {
			line.Text = m.cause(e.Fault)
		}
		line.Text = e.Verdict + ": " + line.Text
	case bot.EventClosed:
		m.Closed, m.Unproven, m.Status = at, e.Verdict != bot.ClosedProven, dialog.Closed
		if m.Passed = m.checks(e.Passed); e.Fault != "" {
			m.Fault, m.Cause = e.Fault, m.cause(e.Fault)
		}
		line.Text = "closed"
	case bot.EventAlarm:
		line.Text = "alarm: " + strings.ReplaceAll(string(e.Alarm), "-", " ")
	case bot.EventTaken:
		line.Text = "took the job over"
	case bot.EventReturned:
		line.Text = "handed the job back"
	case bot.EventSnoozed:
		line.Text = "silenced alarms until " + e.Until.In(m.zone).Format("15:04")
	case bot.EventDeleted:
		line.Text = "took a message back"
	case bot.EventEdited:
		line.Text = "changed a message to: " + e.Text
	default:
	}
	for _, f := range e.Files {
		line.Text = strings.TrimSpace(line.Text + " [" + f.Name + "]")
	}
	if e.Forgotten {
		line.Text = "(erased on request)"
	}
	if line.Text != "" {
		m.Said = append(m.Said, line)
	}
}

// answered keeps the call as it last stood.
func (m *maker) answered(a *bot.Answer) {
	m.Status = a.Status
	switch {
	case a.Called:
		m.Fault, m.Cause, m.Probability, m.Proof, m.Repair = a.Fault, m.cause(a.Fault), a.Probability, a.Proof, a.Repair
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

func (m *maker) cause(fault string) string {
	if f := m.base.Faults[fault]; f != nil && f.Name != "" {
		return f.Name
	}
	return strings.NewReplacer("/", " ", "-", " ").Replace(fault)
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
