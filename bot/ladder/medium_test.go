package ladder

import (
	"bytes"
	"image/png"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

func TestADrawingFitsATerminal(t *testing.T) {
	t.Parallel()
	base := embedded(t)
	for id := range base.Equipment {
		d, err := Draw(base, id, marked(t).marking)
		require.NoError(t, err)
		text := d.Text()
		for line := range strings.Lines(text) {
			require.LessOrEqual(t, utf8.RuneCountInString(line)-1, Columns, line)
		}
		require.Equal(t, text, d.Text())
		for _, p := range d.net.parts {
			for word := range strings.FieldsSeq(p.name) {
				for _, piece := range terminal().wrapped(word) {
					require.Contains(t, text, piece)
				}
			}
		}
	}
}

func TestAMarkInATerminalHasItsSign(t *testing.T) {
	t.Parallel()
	text := marked(t).Text()
	for _, sign := range []string{"✓", "▲ 62 %", "○", "◆ 26 V", "● red", "■ black", "Ⓜ compressor", "not fitted"} {
		require.Contains(t, text, sign)
	}
}

func TestAPictureInPixelsIsAsLargeAsAsked(t *testing.T) {
	t.Parallel()
	d := marked(t)
	s := d.sheet(picture(), rung)
	for _, look := range []Look{Light, Dark, Page} {
		var b bytes.Buffer
		require.NoError(t, d.PNG(&b, look, 0.5))
		config, err := png.DecodeConfig(&b)
		require.NoError(t, err)
		require.InDelta(t, s.w/2, config.Width, 1)
		require.InDelta(t, s.h/2, config.Height, 1)
	}
}
