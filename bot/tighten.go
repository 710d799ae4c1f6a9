package bot

import (
	"crypto/sha256"
	"encoding/hex"
	"maps"
	"slices"
	"strings"

	"proveout/knowledge"
)

// tightened is knowledge with the shop's own calls that need a senior, and the version
// of both together. base is not changed.
func tightened(base *knowledge.Base, c Confirm) (*knowledge.Base, string) {
	if !c.All && len(c.Faults) == 0 {
		return base, base.Version
	}
	b := *base
	b.Faults = maps.Clone(base.Faults)
	var changed []string
	for _, id := range slices.Sorted(maps.Keys(b.Faults)) {
		if f := *b.Faults[id]; !f.NeedsConfirmation && (c.All || slices.Contains(c.Faults, id)) {
			f.NeedsConfirmation = true
			b.Faults[id] = &f
			changed = append(changed, id)
		}
	}
	if len(changed) == 0 {
		return base, base.Version
	}
	sum := sha256.Sum256([]byte(strings.Join(changed, "\n")))
	return &b, base.Version + "+" + hex.EncodeToString(sum[:3])
}
