package dialog_test

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog"
	"proveout/knowledge"
	"proveout/rules"
)

// englishWords are words no Spanish sentence has.
var englishWords = regexp.MustCompile(`(?i)\b(the|is|are|and|of|with|at|read|what|which|this|that|from|when|check|next|call|between|running|tripped|fuse|coil|wire|fan)\b`)

// Every fault is played to its call in Spanish, and no word of English is left in
// what is said. What the technician writes back is the English of the trade.
func TestASpanishTalkHasNoEnglishInIt(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	model, err := rules.Compile(base, "split-cooling", nil)
	require.NoError(t, err)
	exactly := func(_ knowledge.ReadingID, v float64) float64 { return v }
	for _, truth := range model.Truths() {
		if truth.Degree > 0 {
			continue
		}
		_, talk := inWords(agent, "es", base, model, truth, exactly)
		for line := range strings.Lines(talk) {
			if !strings.HasPrefix(line, ">") {
				require.NotRegexp(t, englishWords, strings.ReplaceAll(line, "FAN", ""), truth.Fault) // a capacitor is marked so
			}
		}
	}
}

func TestATalkGoesOnInTheLanguageOfTheTechnician(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	job := agent.Open()
	for _, step := range []struct {
		from, text, set, want string
	}{
		{dialog.Tech, "no enfria, el blower anda pero la unidad de afuera no", "", "Sigue"},
		{dialog.Tech, "24", "", "Sigue"},            // a figure is of no language
		{dialog.Tech, "contactor out", "", "Sigue"}, // nor are the trade's words
		{dialog.Senior, "what is left to check there", "", "Still standing"},
		{dialog.Senior, "and now?", "", "Sigue"},
		{dialog.Tech, "why", "en", "Next"}, // what is set wins
		{dialog.Tech, "por que", "en", "Next"},
		{dialog.Tech, "por que", "fr", "Next"}, // nothing is said in it
		{dialog.Tech, "y ahora que sigue", "", "Sigue"},
		{dialog.Tech, "what is left to check there", "", "Still standing"},
		{dialog.Tech, "24 at the yellow", "", "Next"},
	} {
		var reply *dialog.Reply
		job, reply = agent.Turn(job, dialog.Message{From: step.from, Text: step.text, Language: step.set})
		require.Contains(t, reply.Text, step.want, step.text)
	}
}

// The senior may name a cause in either language, whatever the talk is in.
func TestACauseIsNamedInEitherLanguage(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	for _, text := range []string{"override, it is the open contactor coil", "no estoy de acuerdo, es la bobina del contactor abierta"} {
		job, _ := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: "no enfria, 24 en el amarillo"})
		job, reply := agent.Turn(job, dialog.Message{From: dialog.Senior, Name: "Rosa", Text: text})
		require.Equal(t, "contactor-coil/open", job.Situation.Ruled, reply.Text)
	}
}

func TestTheLanguageOfATalkIsKeptWithIt(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	job, _ := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: "no enfria, el blower anda"})
	written, err := job.Kept().State()
	require.NoError(t, err)
	job, err = dialog.ReadState(written)
	require.NoError(t, err)
	_, reply := agent.Turn(job, dialog.Message{From: dialog.Tech, Text: "24"})
	require.Contains(t, reply.Text, "Sigue")
}

// What the help says may be written is understood.
func TestTheHelpIsUnderstood(t *testing.T) {
	t.Parallel()
	agent := newAgent(t)
	job, _ := agent.Turn(agent.Open(), dialog.Message{From: dialog.Tech, Text: "no enfria, el blower anda"})
	for language, sep := range map[string]string{"en": "Also: ", "es": "También: "} {
		_, list, ok := strings.Cut(agent.Words(language).Phrases["help"], sep)
		require.True(t, ok)
		for word := range strings.SplitSeq(strings.TrimSuffix(list, "."), ", ") {
			_, reply := agent.Turn(job, dialog.Message{From: dialog.Tech, Text: word})
			require.NotEmpty(t, reply.Understood.Intents, "%s: %s", language, word)
		}
	}
}
