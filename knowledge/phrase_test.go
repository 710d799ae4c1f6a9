package knowledge_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/knowledge"
)

// A strings.Replacer says the same, and is the reference.
func TestAPhraseIsFilledWhereItNamesWhatIsGiven(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("{}ab é"))).Draw(t, "phrase")
		names := rapid.SliceOfDistinct(rapid.StringMatching("[ab]{1,2}"), func(s string) string { return s }).Draw(t, "names")
		var pairs, slots []string
		for _, name := range names {
			value := rapid.StringOf(rapid.RuneFrom([]rune("{}a1 "))).Draw(t, "value")
			pairs, slots = append(pairs, name, value), append(slots, "{"+name+"}", value)
		}
		want := strings.TrimSpace(strings.NewReplacer(slots...).Replace(text))
		require.Equal(t, want, knowledge.Phrases{"id": text}.Say("id", pairs...))
	})
}
