package dialog_test

import (
	"encoding/json"
	"reflect"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog"
	"proveout/knowledge"
)

// talkedThrough are messages that reach every part of a job's state.
func talkedThrough() []dialog.Message {
	tech := func(s string) dialog.Message { return dialog.Message{From: dialog.Tech, Text: s} }
	return []dialog.Message{
		tech("no cooling, blower runs, outdoor unit dead"), tech("24 at Y outdoor"), tech("R-410A, no clamp meter"),
		tech("skip"), tech("undo"), tech("0 on the contactor coil"), tech("undo"), tech("undo"), tech("undo"), tech("undo"), tech("undo"),
		tech("24 at y outdoor, coil reads OL"), tech("contactor coil 0 V"), tech("coil OL again"), tech("why"),
		{From: dialog.Senior, Name: "Sam", Text: "override, it is the contactor coil"},
		tech("replaced the contactor, done"), tech("it runs"), tech("suction 130, liquid 340"), tech("what's left"), tech("yes"),
	}
}

func TestAJobReadBackAnswersAsOneThatStayed(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	agent, err := dialog.New(base, "split-cooling")
	require.NoError(t, err)
	stayed, back := agent.Open(), agent.Open()
	for i, m := range talkedThrough() {
		t.Logf("%d %s", i, m.Text)
		var a, b *dialog.Reply
		stayed, a = agent.Turn(stayed, m)
		stayed = stayed.Kept()
		back, b = agent.Turn(back, m)
		written, err := back.Kept().State()
		require.NoError(t, err)
		back, err = dialog.ReadState(written)
		require.NoError(t, err)
		require.Equal(t, asJSON(t, a), asJSON(t, b))
	}
	require.Equal(t, len(talkedThrough()), stayed.Turns())
}

func asJSON(t *testing.T, r *dialog.Reply) string {
	t.Helper()
	b, err := json.Marshal(r)
	require.NoError(t, err)
	return string(b)
}

func TestAStateThatIsNoneIsRefused(t *testing.T) {
	t.Parallel()
	_, err := dialog.ReadState([]byte("no state"))
	require.Error(t, err)
}

func TestEveryFieldOfAJobIsWrittenDown(t *testing.T) {
	t.Parallel()
	require.Equal(t, reflect.TypeFor[dialog.Job]().NumField(), dialog.StateFields)
}
