package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
)

func TestAnAnswerToWhichIsItPlacesTheStandingFigure(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for _, c := range []struct {
		said, answer string
		want         map[string]float64
		stand        int
	}{
		{"pressure 295", "suction", map[string]float64{"pressure/suction": 295}, 0},
		{"pressure 295", "that was on the high side", map[string]float64{"pressure/liquid": 295}, 0},
		{"240 at the disconnect", "line side", map[string]float64{"voltage/disconnect-line": 240}, 0},
		{"got 18 volts", "at the coil", map[string]float64{"voltage/contactor-coil": 18}, 0},
		{"62 degrees", "supply", map[string]float64{"temperature/supply-air": 62}, 0},
		{"4.2 amps", "on common", map[string]float64{"current/compressor-common": 4.2}, 0},
		{"35 uf", "herm side", map[string]float64{"capacitance/compressor-capacitor": 35}, 0},
		{"presión 295", "la de succión", map[string]float64{"pressure/suction": 295}, 0},
		{"74 degrees and 55 degrees", "return and supply", map[string]float64{"temperature/return-air": 74, "temperature/supply-air": 55}, 0},
		{"118 and 62 degrees", "return", map[string]float64{"temperature/return-air": 62}, 1},
		{"118 and 62 degrees", "return and supply", map[string]float64{}, 2},
		{"7.4", "the thing on the left", map[string]float64{}, 1},
		{"7.4", "ok", map[string]float64{}, 1},
		{"7.4", "blower's running", map[string]float64{}, 0}, // he has gone on
		{"7.4", "why", map[string]float64{}, 1},
	} {
		first := r.Understand(c.said, understand.Context{})
		require.NotEmpty(t, first.Standing, c.said)
		got := r.Understand(c.answer, understand.Context{Standing: first.Standing, Asked: "voltage/y-outdoor"})
		readings := map[string]float64{}
		for _, x := range got.Readings {
			readings[string(x.Reading)] = float64(x.Value)
		}
		require.Equal(t, c.want, readings, "%s / %s", c.said, c.answer)
		require.Len(t, got.Standing, c.stand, "%s / %s", c.said, c.answer)
	}
}
