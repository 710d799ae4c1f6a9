package knowledge_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

// BenchmarkLoad is the start of every command: read, decode, derive and check what
// is shipped. Together with the fault engine's table it has 300 ms.
func BenchmarkLoad(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		_, err := knowledge.Load(knowledge.Embedded())
		require.NoError(b, err)
	}
}
