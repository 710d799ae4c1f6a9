package main

import (
	"os"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

// TestReadmeWiringIsAllAUnitNeeds loads the README's example of a unit's wiring as
// it stands there, and wants the fault and the points it promises, diagnosed.
func TestReadmeWiringIsAllAUnitNeeds(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	example := regexp.MustCompile("(?s)```yaml\n(.*?)```").FindSubmatch(readme)
	require.NotNil(t, example, "the README shows a unit's wiring as yaml")

	shop := fstest.MapFS{"equipment/split-with-lockout.yaml": {Data: example[1]}}
	base, err := knowledge.Load(knowledge.Embedded(), shop)
	require.NoError(t, err)
	require.Contains(t, base.Faults, "lockout-switch/open")
	require.Contains(t, base.Measurements, knowledge.ReadingID("voltage/lockout-switch-out"))
	require.Contains(t, base.Measurements, knowledge.ReadingID("voltage/across-lockout-switch"))

	model, err := rules.Compile(base, "split-with-lockout", nil)
	require.NoError(t, err)
	require.Contains(t, model.Faults(), "lockout-switch/open")
}

// TestReadmeConversationIsWhatIsAnswered types the README's conversation and wants
// the replies printed there, line for line.
func TestReadmeConversationIsWhatIsAnswered(t *testing.T) {
	t.Parallel()
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	shown := regexp.MustCompile("(?s)## A conversation.*?```\n(> .*?)```").FindSubmatch(readme)
	require.NotNil(t, shown, "the README shows a conversation")

	var typed, want strings.Builder
	for line := range strings.Lines(string(shown[1])) {
		if text, ok := strings.CutPrefix(line, "> "); ok {
			typed.WriteString(text)
			continue
		}
		want.WriteString(line)
	}
	var out, errs strings.Builder
	code := run(t.Context(), []string{"chat"}, streams{in: strings.NewReader(typed.String()), out: &out, err: &errs})
	require.Equal(t, exitOK, code, errs.String())
	_, replies, _ := strings.Cut(out.String(), "\n\n")
	require.Equal(t, strings.TrimSpace(want.String()), strings.TrimSpace(replies))
}
