package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
)

// Bare degrees in Spanish are in the scale that makes them usual, or asked about.
var scales = map[string][]said{
	"one scale alone is usual": {
		{"35 grados afuera", outdoors, "temperature/outdoor-air 95"},
		{"retorno 24, suministro 12", outdoors, "temperature/return-air 75.2, temperature/supply-air 53.6"},
		{"suministro 55 grados", outdoors, "temperature/supply-air 55"},
		{"afuera estamos a 103 grados", outdoors, "temperature/outdoor-air 103"},
	},
	"either is usual and nothing tells": {
		{"la linea de succion esta a 25 grados", outdoors, "?25 grados"},
		{"afuera 45 grados", outdoors, "?45 grados"},
	},
	"the other temperatures of the message tell": {
		{"retorno 24 grados, linea de succion 25, supercalor 5", outdoors, "temperature/return-air 75.2, temperature/suction-line 77, superheat/system 9"},
		{"retorno 78 grados, linea de succion 25 grados", outdoors, "temperature/return-air 78, temperature/suction-line 25"},
		{"delta de 11 grados", outdoors, "temperature-split/coil 11"},
	},
	"what is said is not weighed": {
		{"linea de succion 25 grados C", outdoors, "temperature/suction-line 77"},
		{"95 F afuera", outdoors, "temperature/outdoor-air 95"},
		{"95 F outside", outdoors, "temperature/outdoor-air 95"},
		{"4.8 f side", outdoors, "capacitance/fan-capacitor 4.8"},
		{"return is 24 degrees", outdoors, "temperature/return-air 24"},
	},
}

func TestDegreesOfNoScale(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for rule, lines := range scales {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			for _, l := range lines {
				require.Equal(t, l.want, show(r.Understand(l.text, l.ctx)), l.text)
			}
		})
	}
}

func TestAScaleToldBeforeHolds(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	ctx := asked("temperature/supply-air")
	ctx.Earlier = r.Understand("return is 26 C", understand.Context{}).Readings
	got := r.Understand("14", ctx).Readings
	require.Len(t, got, 1)
	require.InDelta(t, 57.2, float64(got[0].Value), 1e-9)
	require.Equal(t, "14 °C", got[0].Said, "the scale it was taken in is said back")
	require.InDelta(t, 55, float64(r.Understand("55", ctx).Readings[0].Value), 1e-9, "no supply air is that hot")
}

func TestTheScaleAskedForPlacesTheFigure(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	u := r.Understand("la linea de succion esta a 25 grados", understand.Context{})
	require.Equal(t, []string{"°F", "°C"}, u.Unclear[0].Scales)
	for answer, want := range map[string]float64{"centigrados": 77, "C": 77, "son grados C": 77, "F": 25, "fahrenheit": 25} {
		got := r.Understand(answer, understand.Context{Standing: u.Standing}).Readings
		require.Len(t, got, 1, answer)
		require.InDelta(t, want, float64(got[0].Value), 1e-9, answer)
	}
}
