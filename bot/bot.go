// Package bot is the service between channels and the talk: who may speak, which
// job a message belongs to, what is kept of it.
//
// A Service answers a shop: what a channel brings in, the events it causes and the
// replies to it are one entry in the record, written before anything is sent. Live jobs
// are a fold of the record; the outbox delivers from it. A Desk is one talk in memory.
package bot

import (
	"strings"
	"sync"

	"proveout/dialog"
	"proveout/knowledge"
)

// Message is what a channel brings in.
type Message = dialog.Message

// Reply is what a channel carries out.
type Reply = dialog.Reply

// Line is one line of a reply.
type Line = dialog.Line

// Part is what a line is for.
type Part = dialog.Part

// The parts of a reply a channel may want to set apart.
const (
	Safety    = dialog.Safety
	Heard     = dialog.Heard
	Question  = dialog.Question
	Explained = dialog.Answer
	Table     = dialog.Table
	Proves    = dialog.Proves
	Verdict   = dialog.Verdict
	Proof     = dialog.Proof
	Next      = dialog.Next
	How       = dialog.How
	Means     = dialog.Means
	Caution   = dialog.Caution
)

// The people a message may be from.
const (
	Tech       = dialog.Tech
	Senior     = dialog.Senior
	Dispatcher = dialog.Dispatcher
)

// Desk answers the messages of one talk. It may be shared between goroutines;
// messages are answered one after another.
type Desk struct {
	agent    *dialog.Agent
	commands commands
	mu       sync.Mutex
	job      *dialog.Job
}

// NewDesk opens a talk in the language that is spoken until its technician writes
// another. The error names what in the lexicon is at fault.
func NewDesk(agent *dialog.Agent, language string) (*Desk, error) {
	commands, err := newCommands(agent.Knowledge())
	if err != nil {
		return nil, err
	}
	return &Desk{agent: agent, commands: commands, job: agent.OpenIn(language)}, nil
}

// Opening is what the agent says before anybody has written.
func (d *Desk) Opening(shop string) string { return d.agent.In(d.job.Language()).Opening(shop) }

// Receive answers one message.
func (d *Desk) Receive(m Message) *Reply {
	d.mu.Lock()
	defer d.mu.Unlock()
	if _, ok := d.commands.asks(knowledge.CommandDrawing, m.Text); ok {
		return d.draw()
	}
	job, reply := d.agent.Turn(d.job, m)
	d.job = job
	return reply
}

// draw answers with the circuit in characters.
func (d *Desk) draw() *Reply {
	agent := d.agent.In(d.job.Language())
	out := &Reply{Text: inWords(agent, d.job), Suspects: []dialog.Suspect{}, RuledOut: []dialog.RuledOut{}, Cautions: []string{}, Status: d.job.Status, Language: agent.Knowledge().Language}
	if circuit, err := drawing(agent, d.job); err == nil {
		out.Text = circuit.Text() + out.Text
	}
	for line := range strings.SplitSeq(out.Text, "\n") {
		out.Lines = append(out.Lines, Line{Part: Explained, Text: line})
	}
	return out
}
