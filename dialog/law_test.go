package dialog_test

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog"
)

// play sends messages one after another and gives every reply.
func play(agent *dialog.Agent, texts ...string) []*dialog.Reply {
	job := agent.Open()
	var out []*dialog.Reply
	for _, text := range texts {
		var r *dialog.Reply
		job, r = agent.Turn(job, dialog.Message{From: dialog.Tech, Text: text})
		out = append(out, r)
	}
	return out
}

var aJob = []string{
	"no cooling, blower runs, outside unit dead", "contactor not pulled in", "24 at the yellow, 0 past the low pressure switch",
	"0 on the coil", "why", "both sides 250", "undo", "250 standing both sides", "no clamp meter", "what's left",
}

func TestSameMessagesGiveTheSameReplies(t *testing.T) {
	t.Parallel()
	one, two := newAgent(t), newAgent(t)
	var first []byte
	for i, agent := range []*dialog.Agent{one, two, one} {
		b, err := json.Marshal(play(agent, aJob...))
		require.NoError(t, err)
		if i == 0 {
			first = b
			continue
		}
		require.True(t, bytes.Equal(first, b))
	}
}

func TestATurnLeavesTheEarlierJobAsItWas(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	job := agent.Open()
	for _, text := range aJob {
		m := dialog.Message{From: dialog.Tech, Text: text}
		next, once := agent.Turn(job, m)
		_, again := agent.Turn(job, m)
		require.Equal(t, once, again, text)
		job = next
	}
}

func TestAFigureSaidToBeOfAnotherPointLeavesTheFirst(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	for _, x := range []struct{ first, then, left, stays string }{
		{"liquid 250 psi with it off", "I meant suction", "250 psig at liquid service port", "250 psig at suction service port"},
		{"y outside 26", "the 26 i gave you was at the thermostat", "26 V at Y and C at the outdoor unit", "26 V at Y and C on the indoor board"},
	} {
		job, _ := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: x.first})
		job, reply := agent.Turn(job, dialog.Message{From: dialog.Tech, Text: x.then})
		text := reply.Text
		require.Contains(t, text, "Taken back: "+x.left)
		require.Contains(t, text, "Read as: "+x.stays)
		require.Len(t, job.Situation.Evidence, 1)
	}
}

func TestAfterAHazardNothingIsTakenForAnAnswer(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	job := agent.Open()
	for _, x := range []struct{ text, says string }{
		{"ac quit", "Is the outdoor fan running?"},
		{"smell something burning", "Stop here"},
		{"ok power off", "Noted: power off."},
		{"all good", "Where we were"},
	} {
		var reply *dialog.Reply
		job, reply = agent.Turn(job, dialog.Message{From: dialog.Tech, Text: x.text})
		require.Contains(t, reply.Text, x.says)
		require.Empty(t, job.Situation.Evidence, x.text)
	}
}

func TestWhatIsNotKnownOfAPartIsSaidBackOnce(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	_, reply := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: "24 at y outside, contactor zorgling, filter zorgled"})
	require.Contains(t, reply.Text, "24 V at Y")
	require.Equal(t, 1, strings.Count(reply.Text, "I do not know what that says"))
	require.Contains(t, reply.Text, "\"contactor zorgling\"")
}

func TestExactlyOneOfAskAndCallLeads(t *testing.T) {
	t.Parallel()
	for _, r := range play(newAgent(t), aJob...) {
		require.NotEqual(t, r.Ask == nil, r.Call == nil, r.Text)
	}
}

func TestBadInputGetsASentenceAndLosesNothing(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	job, _ := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: "24 at the yellow, 0 past the low pressure switch"})
	for name, text := range map[string]string{
		"empty": "", "blank": " \t ", "binary": "\x00\xff\xfe\x01\x02", "emoji": "🔥🥵👍", "a megabyte of one word": strings.Repeat("yellow ", 150_000),
		"a megabyte of figures": strings.Repeat("1 ", 500_000), "a megabyte without a break": strings.Repeat("x", 1_000_000),
		"too much pressure": "4100 psig suction", "negative volts": "-24 at the coil", "kilovolts": "24 kV at the contactor",
		"markup": "<script>alert(1)</script>", "braces": "{name} {what}", "json": `{"text": "24"`, "a template": "{{.}} %s %d",
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			next, r := agent.Turn(job, dialog.Message{From: dialog.Tech, Text: text})
			require.NotEmpty(t, strings.TrimSpace(r.Text))
			require.Less(t, len(r.Text), 20_000)
			require.NotEqual(t, r.Ask == nil, r.Call == nil)
			for _, it := range job.Situation.Evidence {
				require.Contains(t, next.Situation.Evidence, it)
			}
		})
	}
}

func TestAnImpossibleFigureIsQuestionedAndNeverUsed(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	for _, text := range []string{"4100 psig suction", "-24 volts at the coil", "24 kV at the contactor coil"} {
		job, r := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: text})
		require.Empty(t, job.Situation.Evidence, text)
		require.Contains(t, r.Text, "cannot be", text)
	}
}

// FuzzTurnNeverPanics sends anything at all in the middle of a job.
func FuzzTurnNeverPanics(f *testing.F) {
	for _, s := range append(aJob, "", "\x00", "24 kV", "-1", "inf ohms", "done", "scratch that 26 not 16", "senior") {
		f.Add(s, s)
	}
	agent := newAgent(f)
	start, _ := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: "no cooling, 24 at the yellow"})
	f.Fuzz(func(t *testing.T, one, two string) {
		job, r := agent.Turn(start, dialog.Message{From: dialog.Tech, Text: one})
		require.NotEmpty(t, r.Text)
		_, r = agent.Turn(job, dialog.Message{From: dialog.Senior, Text: two})
		require.NotNil(t, r)
	})
}

// BenchmarkTurn is one turn in the middle of a job: understand, diagnose, reply.
func BenchmarkTurn(b *testing.B) {
	agent := newAgent(b)
	job := agent.Open()
	for _, text := range aJob[:3] {
		job, _ = agent.Turn(job, dialog.Message{From: dialog.Tech, Text: text})
	}
	b.ReportAllocs()
	for b.Loop() {
		agent.Turn(job, dialog.Message{From: dialog.Tech, Text: "0 volts on the contactor coil, both gauges 250"})
	}
}

func TestAPartThatFailsAgainReopensTheJobAtOnce(t *testing.T) {
	t.Parallel()
	replies := play(newAgent(t), "blank stat. nothing runs", "blew the 3 amp fuse", "put a new fuse, popped right away when it called")
	last := replies[len(replies)-1]
	require.Equal(t, dialog.Measuring, last.Status)
	require.Contains(t, transcript(last), "The fuse blew again")
}

func TestWhoIsSentToAPointIsThere(t *testing.T) {
	t.Parallel()
	replies := play(newAgent(t), "compressor runs a few min then quits, fan outside isn't spinning", "contactor is in", "got 240 at the fan motor leads")
	require.Contains(t, transcript(replies[2]), "240 V at outdoor fan motor leads")
}
