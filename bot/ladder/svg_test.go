package ladder

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// marked is a drawing with every kind of mark on it.
func marked(t require.TestingT) *Drawing {
	d, err := Draw(embedded(t), "split-cooling", Marking{
		Meter:    &Meter{Name: "AC volts", Red: "coil-in", Black: "c-od"},
		Values:   []Value{{Node: "y", Text: "26 V"}, {Component: "contactor-coil", Text: "0 V"}, {Component: "transformer", Text: "26.5 V"}},
		Good:     map[string]bool{"control-fuse": true, "thermostat-y": true, "transformer": true},
		Suspects: map[string]float64{"low-pressure-switch": 0.62, "control-wiring": 0.002},
		Open:     map[string]bool{"contactor-pole-1": true, "low-pressure-switch": true, "breaker-l1": true},
		Absent:   map[string]bool{"delay-timer": true},
	})
	require.NoError(t, err)
	return &d
}

func written(t require.TestingT, d *Drawing, look Look) string {
	var b bytes.Buffer
	require.NoError(t, d.SVG(&b, look))
	return b.String()
}

func TestAPictureIsPlainMarkupAPageCanTake(t *testing.T) {
	t.Parallel()
	for _, look := range []Look{Light, Dark, Page} {
		svg := written(t, marked(t), look)
		require.Less(t, len(svg), 60<<10, "the page it is on has 100 KiB for all")
		for _, never := range []string{"<script", "<style", " style=", "href", "onload", "http://", "https://"} {
			require.NotContains(t, strings.Replace(svg, "http://www.w3.org/2000/svg", "", 1), never)
		}
		for d := xml.NewDecoder(strings.NewReader(svg)); ; {
			_, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
		}
	}
}

func TestAPictureIsTheSameEveryTime(t *testing.T) {
	t.Parallel()
	first := written(t, marked(t), Light)
	for range 3 {
		require.Equal(t, first, written(t, marked(t), Light))
	}
}

func TestWhatIsMarkedIsSaidInWords(t *testing.T) {
	t.Parallel()
	said := marked(t).Description()
	for _, what := range []string{
		"proven good: transformer, control fuse, thermostat's cooling contact.", "low-pressure switch 62 %", "< 1 %",
		"open now: low-pressure switch", "not fitted: delay timer.", "Y at the indoor board 26 V", "red the live side of the contactor coil",
	} {
		require.Contains(t, said, what)
	}
}

// luminance is relative luminance after WCAG 2.2.
func luminance(t *testing.T, colour string) float64 {
	v, err := strconv.ParseUint(strings.TrimPrefix(colour, "#"), 16, 32)
	require.NoError(t, err)
	linear := func(c uint64) float64 {
		x := float64(c&0xff) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(v>>16) + 0.7152*linear(v>>8) + 0.0722*linear(v)
}

func TestWordsStandOutFromEveryGround(t *testing.T) {
	t.Parallel()
	for _, th := range []theme{lightly(), darkly()} {
		for _, ground := range []string{"paper", "panel", "outdoor", "indoor", "thermostat", "place"} {
			for _, words := range []string{"ink", "faint", "good", "suspect", "open", "value", "red", "black"} {
				a, b := luminance(t, th[words]), luminance(t, th[ground])
				ratio := (max(a, b) + 0.05) / (min(a, b) + 0.05)
				require.GreaterOrEqual(t, ratio, 4.5, "%s on %s (WCAG 2.2, 1.4.3)", words, ground)
			}
		}
	}
}

func TestADrawingHasWordsForAllItSays(t *testing.T) {
	t.Parallel()
	base := embedded(t)
	for _, language := range append(base.Languages(), "en") {
		words := base.In(language).Phrases
		for _, id := range []string{"good", "suspect", "open", "absent", "value", "red", "black", "clamp", "primary", "secondary", "rest"} {
			require.NotEmpty(t, words["drawing-"+id])
		}
		for id := range base.Equipment {
			w := base.Wiring(id)
			for _, n := range w.Nodes {
				require.True(t, n.Colour == "" || words["drawing-colour-"+n.Colour] != "", n.Colour)
				require.True(t, n.Place == "" || words["drawing-place-"+n.Place] != "", n.Place)
			}
		}
	}
}
