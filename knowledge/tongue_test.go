package knowledge_test

import (
	"maps"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

func TestALanguageHasWordsForEverythingAPersonReads(t *testing.T) {
	t.Parallel()
	base, err := shipped()
	require.NoError(t, err)
	require.Equal(t, []string{"es"}, base.Languages())
	es := base.In("es")
	require.Equal(t, "el voltaje en la bobina del contactor", es.Measurements["voltage/contactor-coil"].Name)
	require.Equal(t, "el contactor está metido", es.Observations["contactor"].States["pulled-in"])
	require.Equal(t, "orificio fijo", es.Facts["metering-device"].Answers["fixed-orifice"])
	require.Equal(t, "voltage across the contactor coil", base.Measurements["voltage/contactor-coil"].Name, "the knowledge itself stays as it is")
	require.Empty(t, base.Observations["contactor"].Answers)
	require.Same(t, base, base.In("fr"), "what is said in no language is said in English")
	for id, f := range base.Faults {
		require.NotEqual(t, f.Repair, es.Faults[id].Repair, id)
		require.Equal(t, f.Proof, es.Faults[id].Proof, id)
	}
}

// englishWords are words no Spanish sentence has; names in braces and what is marked
// on a part do not count.
var (
	englishWords = regexp.MustCompile(`(?i)\b(the|is|are|and|of|with|at|read|what|which|this|that|from|when|check|next|call|between|running|tripped|fuse|coil|wire|fan|not|for|job|off)\b`)
	asMarked     = regexp.MustCompile(`\{[a-z-]+\}|\bFAN\b`)
)

func TestSpanishHasNoEnglishInIt(t *testing.T) {
	t.Parallel()
	base, err := shipped()
	require.NoError(t, err)
	es := base.In("es")
	var texts []string
	for _, s := range es.Phrases {
		texts = append(texts, s)
	}
	for _, f := range es.Faults {
		texts = append(texts, f.Name, f.Short, f.Part, f.Repair)
	}
	for _, m := range es.Measurements {
		texts = append(texts, m.Name, m.Point, m.Setting, m.Leads, m.Note)
	}
	for _, o := range es.Observations {
		texts = append(texts, o.Name, o.Ask)
		texts = append(append(texts, slices.Collect(maps.Values(o.States))...), slices.Collect(maps.Values(o.Answers))...)
	}
	for _, f := range es.Facts {
		texts = append(texts, f.Name, f.Ask)
	}
	for _, c := range es.Checks {
		texts = append(texts, c.Name, c.Ask, c.Failed)
	}
	for _, c := range es.Cautions {
		texts = append(texts, c.Text)
	}
	for _, text := range texts {
		require.NotRegexp(t, englishWords, asMarked.ReplaceAllString(text, ""))
	}
}

func TestWhatALanguageDoesNotSayIsAMistake(t *testing.T) {
	t.Parallel()
	_, err := knowledge.Load(knowledge.Embedded(), folder("phrases/fr.yaml", `heard: "Lu: {what}."`))
	require.ErrorContains(t, err, `phrases/opening: it is not said in "fr"; say it under opening: in phrases/fr.yaml`)
	require.ErrorContains(t, err, `cautions/gas-smell: it is not said in "fr"; say it under gas-smell: in phrases/fr/cautions.yaml`)
	require.ErrorContains(t, err, `observations/blower: it is not said in "fr"`)
	require.NotContains(t, err.Error(), "phrases/heard:")
}

func TestWordsInALanguageAreHeldToTheItem(t *testing.T) {
	t.Parallel()
	for what, shop := range map[string][2]string{
		`no fault is called "contactor-coil/opened"; did you mean "contactor-coil/open"?`: {"phrases/es/faults.yaml", `contactor-coil/opened: {name: bobina, short: bobina, repair: Cambie.}`},
		`it has no repair`:                        {"phrases/es/faults.yaml", `contactor-coil/open: {name: bobina abierta, short: bobina, part: contactor}`},
		`the fault itself has no part`:            {"phrases/es/faults.yaml", `none/normal: {name: nada, short: nada, repair: Nada., part: contactor}`},
		`the words hold more than a fault says`:   {"phrases/es/faults.yaml", `none/normal: {name: nada, short: nada, repair: Nada., leads: una punta}`},
		`unknown field "repairs"`:                 {"phrases/es/faults.yaml", `none/normal: {name: nada, short: nada, repairs: Nada.}`},
		`it has no states pulled-in`:              {"phrases/es/observations.yaml", `contactor: {name: contactor, ask: "¿Metido?", states: {chattering: vibra, dropped-out: afuera, pitted: picado}, answers: {chattering: v, dropped-out: a, pitted: p, pulled-in: m}}`},
		`nothing fills {fallo}`:                   {"phrases/es.yaml", `call: "Es {fallo}."`},
		`nothing is said by the name "calling"`:   {"phrases/es.yaml", `calling: "Llama."`},
		`no such folder of knowledge as "phrases`: {"phrases/es/limits.yaml", `superheat-tolerance: {text: cinco}`},
	} {
		_, err := knowledge.Load(knowledge.Embedded(), folder(shop[0], shop[1]))
		require.ErrorContains(t, err, what)
	}
}

// A shop's own words are said in every language until it has others for them: a
// caution it made stricter is not said as it was.
func TestAShopsOwnWordsAreNotSaidOver(t *testing.T) {
	t.Parallel()
	base := overlaid(t, folder(
		"cautions/ours.yaml", `local-codes: {text: Ask the county first., source: Larkmoor Heating & Air}`,
		"phrases/ours.yaml", `thanks: "Larkmoor thanks you."`,
	))
	es := base.In("es")
	require.Equal(t, "Ask the county first.", es.Cautions["local-codes"].Text)
	require.Equal(t, "Larkmoor thanks you.", es.Phrases["thanks"])
	require.Contains(t, es.Phrases["heard"], "Leído")

	both := overlaid(t, folder(
		"cautions/ours.yaml", `local-codes: {text: Ask the county first., source: Larkmoor Heating & Air}`,
		"phrases/es/cautions.yaml", `local-codes: {text: Pregunte primero al condado.}`,
	))
	require.Equal(t, "Pregunte primero al condado.", both.In("es").Cautions["local-codes"].Text)
	require.Equal(t, "Ask the county first.", both.Cautions["local-codes"].Text)
}
