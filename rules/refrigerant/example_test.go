package refrigerant_test

import (
	"fmt"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

func Example() {
	base, err := knowledge.Load(knowledge.Embedded())
	if err != nil {
		panic(err)
	}
	table, err := refrigerant.New(base.Refrigerants["R-410A"])
	if err != nil {
		panic(err)
	}
	suction, err := refrigerant.Absolute(118, refrigerant.StandardAtmosphere)
	if err != nil {
		panic(err)
	}
	superheat, err := table.Superheat(suction, 64)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%.1f °F superheat\n", superheat)
	// Output: 24.2 °F superheat
}
