package knowledge

import (
	"fmt"
	"strconv"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
)

// Figure is a number, or the name of a limit or numeric fact whose value is used.
type Figure struct {
	Value float64
	Name  string
}

// UnmarshalYAML reads a number, or the id of a limit or fact.
func (f *Figure) UnmarshalYAML(node ast.Node) error {
	var v float64
	if err := yaml.NodeToValue(node, &v); err == nil {
		f.Value = v
		return nil
	}
	if err := yaml.NodeToValue(node, &f.Name); err != nil {
		return fmt.Errorf("reading a figure: %w; write a number or the name of a limit or fact", err)
	}
	return nil
}

// String gives the number, or the name.
func (f *Figure) String() string {
	if f.Name != "" {
		return f.Name
	}
	return strconv.FormatFloat(f.Value, 'g', -1, 64)
}
