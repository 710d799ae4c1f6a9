package web

import (
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/bot"
)

func wellFormed(svg string) error {
	d := xml.NewDecoder(strings.NewReader(svg))
	for {
		switch _, err := d.Token(); {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
	}
}

func TestTheLettersOfAChartNeverCoverEachOther(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.IntRange(2, 40).Draw(t, "steps")
		lines := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) line {
			return line{rapid.String().Draw(t, "name"), rapid.SliceOfN(rapid.Float64Range(0, 1), steps, steps).Draw(t, "points")}
		}), 1, chartLines).Draw(t, "lines")
		at := apart(lines, func(p float64) float64 { return chartTop + (1-p)*(chartHeight-chartTop-chartBottom) })
		for i := range at {
			require.LessOrEqual(t, at[i], chartHeight-chartBottom)
			require.GreaterOrEqual(t, at[i], 0.0)
			for j := range i {
				require.GreaterOrEqual(t, math.Abs(at[i]-at[j]), labelApart-1e-9)
			}
		}
		require.NoError(t, wellFormed(string(chart(lines, "t", "d"))))
	})
}

func TestAChartTakesItsTextForText(t *testing.T) {
	t.Parallel()
	svg := string(chart([]line{{"a", []float64{0, 1}}}, "<script>", `"&<b>`))
	require.NoError(t, wellFormed(svg))
	require.NotContains(t, svg, "<script>")
	require.NotContains(t, svg, "<b>")
}

func TestOneMessageIsNoCourseOfThings(t *testing.T) {
	t.Parallel()
	require.Empty(t, chart([]line{{"a", []float64{1}}}, "", ""))
	require.Empty(t, chart(nil, "", ""))
}

func TestAMarkStaysOnItsScale(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		value, normal := rapid.Float64Range(-100, 700).Draw(t, "value"), rapid.Float64Range(-100, 700).Draw(t, "normal")
		require.NoError(t, wellFormed(string(strip(value, normal, rapid.Bool().Draw(t, "beyond")))))
	})
}

func TestADialIsDrawnOfAnyPressureAndOfNothingElse(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		target, saturation := rapid.Float64Range(0, 2000).Draw(t, "target"), rapid.Float64Range(-60, 160).Draw(t, "saturation")
		g := bot.Gauge{
			Quantity: "pressure", Name: rapid.String().Draw(t, "name"), Text: rapid.String().Draw(t, "text"),
			Value: rapid.Float64Range(0, 2000).Draw(t, "value"), Target: &target, Saturation: &saturation,
		}
		svg := string(dial(g))
		if !strings.ContainsFunc(g.Name+g.Text, func(r rune) bool { return r < ' ' || r >= 0xfffe }) { // XML has no word for some
			require.NoError(t, wellFormed(svg))
		}
		require.NotContains(t, svg, "NaN")
		g.Quantity = "temperature"
		require.Empty(t, dial(g))
	})
}
