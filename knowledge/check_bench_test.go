package knowledge

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkCheck is the share of a load that looks for mistakes: it has 10 ms.
func BenchmarkCheck(b *testing.B) {
	base, err := Load(Embedded())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		require.Empty(b, newChecker(base, nil).check())
	}
}
