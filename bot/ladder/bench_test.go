package ladder

import (
	"io"
	"testing"

	"github.com/stretchr/testify/require"
)

func BenchmarkSVG(b *testing.B) {
	d := marked(b)
	for b.Loop() {
		require.NoError(b, d.SVG(io.Discard, Page))
	}
}

func BenchmarkPNG(b *testing.B) {
	d := marked(b)
	for b.Loop() {
		require.NoError(b, d.PNG(io.Discard, Light, 1.5))
	}
}

func BenchmarkText(b *testing.B) {
	d := marked(b)
	for b.Loop() {
		_ = d.Text()
	}
}
