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
