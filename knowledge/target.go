package knowledge

import (
	"fmt"
	"slices"
	"strings"
)

// Target is a published table of what a reading should be, by two others. A cell
// before a row's From has no target.
type Target struct {
	// Name finishes "the …": "target superheat of a fixed orifice".
	Name string `yaml:"name"`
	// Unit of the values, and of what stands down and across.
	Unit string `yaml:"unit"`
	// Down and Across name the two readings: "outdoor dry bulb".
	Down   string `yaml:"down"`
	Across string `yaml:"across"`
	// Step is from one value of a row to the next, in Unit of Across.
	Step float64 `yaml:"step"`
	// Mark says how far the table may be trusted, such as "from memory". It goes
	// wherever a value of the table goes.
	Mark   string      `yaml:"mark"`
	Source string      `yaml:"source"`
	Rows   []TargetRow `yaml:"rows"`
}

// TargetRow is one row of a target table: its place down, the place across of its
// first value, and the values.
type TargetRow struct {
	At     float64   `yaml:"at"`
	From   float64   `yaml:"from"`
	Values []float64 `yaml:"values"`
}

// Figures puts limits into variables, by name. The error names every limit that is
// not there.
func (b *Base) Figures(want map[string]*float64) error {
	var missing []string
	for name, to := range want {
		l, ok := b.Limits[name]
		if !ok {
			missing = append(missing, name)
			continue
		}
		*to = l.Value
	}
	if len(missing) > 0 {
		slices.Sort(missing)
		return fmt.Errorf("there is no limit %s; put it back under limits/", strings.Join(missing, ", no limit "))
	}
	return nil
}
