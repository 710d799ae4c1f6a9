package dialog_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/cockroachdb/datadriven"
	"github.com/stretchr/testify/require"

	"proveout/dialog"
	"proveout/knowledge"
)

// newAgent builds the agent every test of the package talks to.
func newAgent(tb testing.TB) *dialog.Agent {
	tb.Helper()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(tb, err)
	agent, err := dialog.New(base, "split-cooling")
	require.NoError(tb, err)
	return agent
}

// TestConversations plays each transcript and compares every reply. When one
// differs, read the new reply aloud as a tired technician would before `make
// golden` makes it the expected one.
func TestConversations(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	datadriven.Walk(t, "testdata/conversations", func(t *testing.T, path string) {
		job := agent.Open()
		datadriven.RunTest(t, path, func(_ *testing.T, d *datadriven.TestData) string {
			var reply *dialog.Reply
			job, reply = agent.Turn(job, dialog.Message{From: d.Cmd, Text: d.Input})
			return transcript(reply)
		})
	})
}

// transcript is a reply as the transcripts show it: each line with its part, then
// what a program would see lead.
func transcript(r *dialog.Reply) string {
	var b strings.Builder
	for _, l := range r.Lines {
		fmt.Fprintf(&b, "%-8s %s\n", l.Part, l.Text)
	}
	fmt.Fprintf(&b, "[%s", r.Status)
	switch {
	case r.Ask != nil:
		fmt.Fprintf(&b, "; ask %s%s%s", r.Ask.Reading, r.Ask.Observation, r.Ask.Fact)
	case r.Call != nil:
		fmt.Fprintf(&b, "; call %s", r.Call.Fault)
	}
	b.WriteString("]\n")
	return b.String()
}

// TestSessionsEndInTheRightCall holds the transcripts to their calls, whatever
// their wording: no golden file can make a wrong one right.
func TestSessionsEndInTheRightCall(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	for name, want := range map[string]string{
		"low-pressure-switch-good-pressure": "low-pressure-switch/stuck-open",
		"low-pressure-switch-lost-charge":   "refrigerant/undercharge",
		"shorted-coil-blew-the-fuse":        "contactor-coil/shorted",
		"weak-dual-capacitor":               "run-capacitor/compressor-weak",
		"open-compressor-overload":          "compressor/overload-open",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			job := agent.Open()
			called := ""
			datadriven.RunTest(t, "testdata/conversations/"+name+".txt", func(t *testing.T, d *datadriven.TestData) string {
				var r *dialog.Reply
				job, r = agent.Turn(job, dialog.Message{From: d.Cmd, Text: d.Input})
				if r.Call != nil {
					called = r.Call.Fault
					require.Equal(t, want, called, d.Input)
					require.NotEmpty(t, r.Call.Proof, d.Input)
					require.NotEmpty(t, r.Call.Repair, d.Input)
				}
				return d.Expected
			})
			require.Equal(t, want, called)
		})
	}
}
