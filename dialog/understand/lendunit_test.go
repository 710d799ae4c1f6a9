package understand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
)

func TestABareFigureIsInTheUnitSaidBefore(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string]map[string]float64{
		"return 26 celsius supply 15":                       {"temperature/return-air": 78.8, "temperature/supply-air": 59},
		"return 26 c supply 15 c":                           {"temperature/return-air": 78.8, "temperature/supply-air": 59},
		"return 26 c, supply 59":                            {"temperature/return-air": 78.8, "temperature/supply-air": 59},
		"retorno 26 grados centigrados, suministro 15":      {"temperature/return-air": 78.8, "temperature/supply-air": 59},
		"suction 810 kpa and head 2800":                     {"pressure/suction": 117.481, "pressure/liquid": 406.106},
		"suction 117 psi and head 2800 kpa":                 {"pressure/suction": 117, "pressure/liquid": 406.106},
		"24 at c to y and 0 at the coil":                    {"voltage/y-outdoor": 24, "voltage/contactor-coil": 0},
		"el comp jala 14 amps y la placa dice 15.8":         {"current/compressor-common": 14},
		"comp pulls 14 amps and the plate says 15.8":        {"current/compressor-common": 14},
		"y to c 24 at the condenser, return 75 supply 58 f": {"voltage/y-outdoor": 24, "temperature/return-air": 75, "temperature/supply-air": 58},
	} {
		got := map[string]float64{}
		for _, x := range r.Understand(text, understand.Context{}).Readings {
			got[string(x.Reading)] = float64(x.Value)
		}
		require.Equal(t, want, got, text)
	}
}
