package tagger

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
)

// Digest is the fingerprint of what a model is trained for: the features and tags
// of this program, the quantities and units there are, and the languages read.
// Words are no part of it, and neither are points: the tagger knows a word by its
// letters and its neighbours, so the lexicon may learn another without training.
func Digest(base *knowledge.Base) string {
	var b strings.Builder
	fmt.Fprintln(&b, "features", featureVersion)
	for t := range Tag(Tags) {
		fmt.Fprintln(&b, "tag", t)
	}
	for _, name := range slices.Sorted(maps.Keys(base.Quantities)) {
		fmt.Fprintln(&b, "quantity", name)
		for _, u := range base.Quantities[name].Units {
			fmt.Fprintln(&b, "unit", u.Name)
		}
	}
	var spoken []string
	for _, p := range base.Lexicon.Parts {
		spoken = append(spoken, p.Language)
	}
	slices.Sort(spoken)
	for _, language := range slices.Compact(spoken) {
		fmt.Fprintln(&b, "language", language)
	}
	sum := sha256.Sum256([]byte(b.String()))
	return hex.EncodeToString(sum[:8])
}

// Check tells whether a model was trained for what a knowledge holds. The error
// says what to run.
func (m *Model) Check(base *knowledge.Base) error {
	if now := Digest(base); now != m.Digest {
		return fmt.Errorf("the tagger is stale: it was trained for quantities, units and languages %s, the knowledge now has %s; %s", m.Digest, now, mend)
	}
	return nil
}
