package rules_test

import (
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
	"proveout/rules"
)

type compiled struct {
	base  *knowledge.Base
	model *rules.Model
	err   error
}

// shipped is the knowledge as shipped and its split cooling system with nothing
// told about it, compiled once: a Model never changes.
var shipped = sync.OnceValue(func() compiled {
	base, err := knowledge.Load(knowledge.Embedded())
	if err != nil {
		return compiled{err: err}
	}
	m, err := rules.Compile(base, "split-cooling", nil)
	return compiled{base, m, err}
})

func splitCooling(tb testing.TB) (*knowledge.Base, *rules.Model) {
	tb.Helper()
	c := shipped()
	require.NoError(tb, c.err)
	return c.base, c.model
}
