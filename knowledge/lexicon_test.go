package knowledge_test

import (
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

func TestEmbeddedLexiconNamesOnlyWhatExists(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	require.Empty(t, base.CheckLexicon())
}

func TestLexiconErrorNamesPlaceAndMend(t *testing.T) {
	t.Parallel()
	shop := fstest.MapFS{"lexicon/en/ours.yaml": {Data: []byte(`en/ours:
  language: en
  components:
    damper:
      words: [zone damper]
      at: [voltage/zone-damper]
`)}}
	_, err := knowledge.Load(knowledge.Embedded(), shop)
	require.EqualError(t, err, `lexicon/en/ours.yaml:6:12: lexicon/en/ours: no measurement is called "voltage/zone-damper"; name one of those under measurements/, or add it there`)
}

func TestLexiconWithoutLanguageIsRefused(t *testing.T) {
	t.Parallel()
	shop := fstest.MapFS{"lexicon/en/ours.yaml": {Data: []byte("en/ours:\n  components: {}\n")}}
	_, err := knowledge.Load(knowledge.Embedded(), shop)
	require.ErrorContains(t, err, "language")
}

func TestEveryLanguageHasWordsForEveryCommand(t *testing.T) {
	t.Parallel()
	for what, commands := range map[string]string{
		`nobody can ask for board in "es"; give board: words in lexicon/es/commands.yaml`: `{new-job: [nuevo], whole: [más], take-over: [mío], hand-back: [tu turno], one-more: [una más], snooze: [calla]}`,
		`no command is called "boards"; write one of new-job, board`:                      `{boards: [tablero]}`,
		`"<m>" cannot be read; write words`:                                               `{snooze: ["calla <m>"]}`,
		`missing closing ): `:                                                             `{snooze: ["[calla ya"]}`,
	} {
		_, err := knowledge.Load(knowledge.Embedded(), folder("lexicon/es/commands.yaml", "es/commands: {language: es, commands: "+commands+"}"))
		require.ErrorContains(t, err, what)
	}
}
