package knowledge

import (
	"slices"
)

// Laid lists the files laid over the first layer that something is read from.
func (b *Base) Laid() []string {
	var out []string
	for _, o := range b.where {
		if o.layer > 0 && !slices.Contains(out, o.file) {
			out = append(out, o.file)
		}
	}
	slices.Sort(out)
	return out
}
