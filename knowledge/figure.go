package knowledge

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
)

// Figure is a number, or one taken from a limit or fact: Times × named + Plus.
// It is written 15, low-pressure-opens, 0.94 * fan-capacitor-rating, or
// low-pressure-cutout + 45.
type Figure struct {
	Value       float64
	Name        string
	Times, Plus float64
}

var figureForm = regexp.MustCompile(`^(?:([0-9.]+) \* )?([a-z][a-z0-9-]*)(?: ([+-]) ([0-9.]+))?$`)

// figureError says that something is neither a number nor an expression.
type figureError struct{ yaml.SyntaxError }

// UnmarshalYAML reads a number or an expression over one name.
func (f *Figure) UnmarshalYAML(node ast.Node) error {
	var v float64
	if err := yaml.NodeToValue(node, &v); err == nil {
		*f = Figure{Value: v}
		return nil
	}
	m := figureForm.FindStringSubmatch(node.String())
	if m == nil {
		return &figureError{yaml.SyntaxError{Message: fmt.Sprintf("%q is not a figure", node.String()), Token: node.GetToken()}}
	}
	*f = Figure{Name: m[2], Times: 1}
	if m[1] != "" {
		f.Times, _ = strconv.ParseFloat(m[1], 64)
	}
	if m[4] != "" {
		f.Plus, _ = strconv.ParseFloat(m[3]+m[4], 64)
	}
	return nil
}

// String gives the number, or the expression as written.
func (f Figure) String() string {
	if f.Name == "" {
		return strconv.FormatFloat(f.Value, 'g', -1, 64)
	}
	s := f.Name
	if f.Times != 1 {
		s = strconv.FormatFloat(f.Times, 'g', -1, 64) + " * " + s
	}
	if f.Plus > 0 {
		s += " + " + strconv.FormatFloat(f.Plus, 'g', -1, 64)
	}
	if f.Plus < 0 {
		s += " - " + strconv.FormatFloat(-f.Plus, 'g', -1, 64)
	}
	return s
}

// Resolve gives the figure's value from the facts known and the base's limits and
// fact defaults; known is false when it rests on a fact nobody has told.
func (b *Base) Resolve(f Figure, facts map[string]string) (value float64, known bool) {
	if f.Name == "" {
		return f.Value, true
	}
	v, known := b.named(f.Name, facts)
	return f.Times*v + f.Plus, known
}

func (b *Base) named(name string, facts map[string]string) (float64, bool) {
	if l, ok := b.Limits[name]; ok {
		if l.From != nil {
			if v, known := b.Resolve(*l.From, facts); known {
				return v, true
			}
		}
		return l.by(facts), true
	}
	if v, err := strconv.ParseFloat(facts[name], 64); err == nil {
		return v, true
	}
	if f, ok := b.Facts[name]; ok {
		v, _ := strconv.ParseFloat(f.Default, 64)
		return v, false
	}
	return 0, false
}

// by is the limit's value under facts; of several facts that give one the first by
// name counts.
func (l *Limit) by(facts map[string]string) float64 {
	for _, f := range slices.Sorted(maps.Keys(l.By)) {
		if v, ok := l.By[f][facts[f]]; ok {
			return v
		}
	}
	return l.Value
}
