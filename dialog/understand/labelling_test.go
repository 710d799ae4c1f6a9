package understand_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/knowledge"
)

// said is one line of the conventions: a message and what it is read as, written
// "voltage/y-outdoor 24~ @calling" for readings, "fan: off" for observations,
// "fact=value" for facts, "!intent" for intents and "?18" for what is unclear.
type said struct {
	text string
	ctx  understand.Context
	want string
}

func asked(id string) understand.Context { return understand.Context{Asked: knowledge.ReadingID(id)} }

func TestConventionsOfReading(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for group, lines := range conventions {
		t.Run(group, func(t *testing.T) {
			t.Parallel()
			for _, l := range lines {
				require.Equal(t, l.want, show(r.Understand(l.text, l.ctx)), l.text)
			}
		})
	}
}

func show(u understand.Utterance) string {
	var out []string
	for _, x := range u.Readings {
		v := "inf"
		if !math.IsInf(float64(x.Value), 1) {
			v = strconv.FormatFloat(float64(x.Value), 'g', 5, 64)
		}
		s := fmt.Sprintf("%s %s", x.Reading, v)
		if x.Approximate {
			s += "~"
		}
		if x.State != "" && x.State != knowledge.DeEnergised {
			s += " @" + x.State
		}
		out = append(out, s)
	}
	for _, o := range u.Observations {
		out = append(out, o.Subject+": "+o.State)
	}
	for _, f := range u.Facts {
		out = append(out, f.Fact+"="+f.Value)
	}
	for _, i := range u.Intents {
		out = append(out, "!"+i)
	}
	for _, x := range u.Unclear {
		out = append(out, "?"+x.Text)
	}
	return strings.Join(out, ", ")
}

var indoors = understand.Context{Place: "indoor"}

var outdoors = understand.Context{Place: "outdoor"}

var rated = understand.Context{Facts: map[string]string{"compressor-capacitor-rating": "45", "fan-capacitor-rating": "5"}}

var conventions = map[string][]said{
	"wires and terminals are to common": {
		{"24 at the yellow", outdoors, "voltage/y-outdoor 24"},
		{"24 at the yellow", indoors, "voltage/y-indoor 24"},
		{"24 at the furnace board's y", outdoors, "voltage/y-indoor 24"},
		{"blue to yellow at the contactor 25", outdoors, "voltage/contactor-coil 25"},
		{"r to c 26 volts", outdoors, "voltage/transformer-secondary 26"},
		{"r to c 26", outdoors, "voltage/transformer-secondary 26"},
		{"r to c 0.9 ohms", outdoors, "resistance/compressor-c-r 0.9"},
	},
	"the coil": {
		{"24 across the coil", outdoors, "voltage/contactor-coil 24"},
		{"coil voltage 24", outdoors, "voltage/contactor-coil 24"},
		{"24v on the contactor coil", outdoors, "voltage/contactor-coil 24"},
		{"14 ohms at the coil", outdoors, "resistance/contactor-coil 14"},
	},
	"sides of a switch": {
		{"24 past the low pressure switch", outdoors, "voltage/low-pressure-switch-out 24"},
		{"24 out of the lps", outdoors, "voltage/low-pressure-switch-out 24"},
		{"24 load side of the lps", outdoors, "voltage/low-pressure-switch-out 24"},
		{"24 leaving the high pressure switch", outdoors, "voltage/high-pressure-switch-out 24"},
		{"24 across the lps", outdoors, "voltage/across-low-pressure-switch 24"},
		{"24 feeding the low pressure switch", outdoors, "voltage/y-outdoor 24"},
		{"24 before the hps", outdoors, "voltage/low-pressure-switch-out 24"},
	},
	"sides of the contactor": {
		{"240 line side", outdoors, "voltage/contactor-line 240"},
		{"240 on top of the contactor", outdoors, "voltage/contactor-line 240"},
		{"0 on the bottom of the contactor", outdoors, "voltage/contactor-load 0"},
		{"T1 T2 239", outdoors, "voltage/contactor-load 239"},
		{"each leg 120 to ground", outdoors, "voltage/l1-ground 120, voltage/l2-ground 120"},
	},
	"the capacitor": {
		{"herm 44", outdoors, "capacitance/compressor-capacitor 44"},
		{"c to herm 44", outdoors, "capacitance/compressor-capacitor 44"},
		{"fan side 4.8", outdoors, "capacitance/fan-capacitor 4.8"},
		{"c to fan 4.8", outdoors, "capacitance/fan-capacitor 4.8"},
		{"44 mfd", rated, "capacitance/compressor-capacitor 44"},
		{"cap is 38", outdoors, "?38"},
		{"cap is 38", rated, "capacitance/compressor-capacitor 38"},
	},
	"amps": {
		{"12 amps on common", outdoors, "current/compressor-common 12"},
		{"comp amps 12", outdoors, "current/compressor-common 12"},
		{"fan amps 1.1", outdoors, "current/outdoor-fan 1.1"},
		{"fan amps 5", indoors, "current/blower 5"},
		{"12 amps", understand.Context{}, "?12 amps"},
	},
	"pressures": {
		{"118 over 410", outdoors, "pressure/suction 118, pressure/liquid 410"},
		{"410 over 118", outdoors, "pressure/liquid 410, pressure/suction 118"},
		{"blue gauge 118 red gauge 410", outdoors, "pressure/suction 118, pressure/liquid 410"},
		{"both sides 250", outdoors, "pressure/suction 250 @standing, pressure/liquid 250 @standing"},
		{"equalized at 250", outdoors, "pressure/suction 250 @standing, pressure/liquid 250 @standing"},
		{"118 over 410, 64 and 98", outdoors, "pressure/suction 118, pressure/liquid 410, temperature/suction-line 64, temperature/liquid-line 98"},
		{"liquid 98", outdoors, "?98"},
		{"liquid 240", outdoors, "pressure/liquid 240"},
		{"liquid line 98", outdoors, "temperature/liquid-line 98"},
		{"300 psi", outdoors, "?300 psi"},
	},
	"temperatures": {
		{"75 return 55 out of the register", outdoors, "temperature/return-air 75, temperature/supply-air 55"},
		{"wb 63", outdoors, "temperature/return-air-wet-bulb 63"},
		{"95 ambient", outdoors, "temperature/outdoor-air 95"},
		{"delta t 18", outdoors, "temperature-split/coil 18"},
		{"suction line 64", outdoors, "temperature/suction-line 64"},
		{"stat set at 72", outdoors, "temperature/setpoint 72"},
		{"superheat 6 °C", outdoors, "superheat/system 10.8"},
	},
	"values": {
		{"two forty at l1 l2", outdoors, "voltage/contactor-line 240"},
		{"one eighteen suction", outdoors, "pressure/suction 118"},
		{"point seven amps on the condenser fan", outdoors, "current/outdoor-fan 0.7"},
		{"return high 70s", outdoors, "temperature/return-air 77.5~"},
		{"24ish at the coil", outdoors, "voltage/contactor-coil 24~"},
		{"nada at the coil", outdoors, "voltage/contactor-coil 0"},
		{"bouncing between 0 and 24 at the coil", outdoors, "voltage/contactor-coil 12~, contactor: chattering"},
	},
	"answers": {
		{"0", asked("voltage/contactor-coil"), "voltage/contactor-coil 0"},
		{"no", asked("voltage/contactor-coil"), "voltage/contactor-coil 0"},
		{"yes", asked("voltage/contactor-coil"), ""},
		{"open", asked("resistance/contactor-coil"), "resistance/contactor-coil inf"},
		{"nothing", asked("resistance/contactor-coil"), "?nothing"},
		{"short", asked("resistance/low-pressure-switch"), "resistance/low-pressure-switch 0"},
		{"no tone", asked("resistance/low-pressure-switch"), "resistance/low-pressure-switch inf"},
		{"4100 psig", asked("pressure/suction"), "pressure/suction 4100"},
		{"hot", asked("voltage/y-outdoor"), ""},
		{"fan is running", understand.Context{AskedObservation: "outdoor-fan"}, "outdoor-fan: running"},
		{"yes", understand.Context{AskedObservation: "blower"}, "blower: running"},
		{"nope", understand.Context{AskedObservation: "blower"}, "blower: off"},
		{"410", understand.Context{AskedFact: "refrigerant"}, "refrigerant=R-410A"},
		{"3", understand.Context{AskedFact: "tonnage"}, "tonnage=3"},
		{"26", understand.Context{Asked: "voltage/y-outdoor", AskedState: "calling"}, "voltage/y-outdoor 26 @calling"},
		{"still the same", understand.Context{Asked: "pressure/suction", Earlier: []understand.Reading{{Reading: "pressure/suction", Value: 118, Unit: "psig"}}}, "pressure/suction 118"},
	},
	"corrections": {
		{"24 at the coil, scratch that, 0", outdoors, "voltage/contactor-coil 0, !correct"},
		{"not 16, 26 at the coil", outdoors, "voltage/contactor-coil 26, !correct"},
		{"scratch that, 26 not 16", outdoors, "!correct, ?26"},
		{"scratch that, 26 not 16", understand.Context{Earlier: []understand.Reading{{Reading: "voltage/y-outdoor", Value: 16}, {Reading: "voltage/contactor-coil", Value: 0}}}, "voltage/y-outdoor 26, !correct"},
		{"I meant suction", understand.Context{Earlier: []understand.Reading{{Reading: "pressure/liquid", Value: 118}}}, "pressure/suction 118, !correct"},
	},
	"not readings": {
		{"16x25x1 filter at 1420 Alder Street", outdoors, ""},
		{"30 amp breaker, 10 gauge wire", outdoors, ""},
		{"last week somebody read 118 over 410", outdoors, ""},
		{"RLA 14.2, cap rated 45/5", outdoors, "rated-load-amps=14.2, compressor-capacitor-rating=45, fan-capacitor-rating=5"},
	},
	"observations": {
		{"outdoor unit dead", outdoors, "compressor: off, outdoor-fan: off"},
		{"not pulling in", outdoors, "contactor: dropped-out"},
		{"compressor humming, won't start", outdoors, "compressor: humming"},
		{"compressor kicks off on overload", outdoors, "compressor: cycling"},
		{"24 across the fuse", outdoors, "voltage/across-fuse 24"},
	},
	"intents": {
		{"why?", outdoors, "!ask-why"},
		{"how do I take that", outdoors, "!ask-how"},
		{"what's next", outdoors, "!ask-next"},
		{"new cap in", outdoors, "!report-done"},
		{"swapped it", outdoors, "!report-done"},
		{"got it fixed", outdoors, "!report-done"},
	},
}

func TestWhatSomebodyMeansToDoIsWarnedOfBeforeHeDoesIt(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string]string{
		"can i just jumper the low pressure switch":    "bypass",
		"gonna jump out the hps to see if it runs":     "bypass",
		"i jumped the low pressure switch and it runs": "jumper",
		"theres a jumper on the lps":                   "jumper",
		"how bout i add a pound of gas":                "charging",
		"should i just top it off":                     "charging",
		"the cap still has a charge on it":             "discharge-capacitor",
		"puedo puentear el switch de baja":             "bypass",
		"le echo una libra de gas?":                    "charging",
		"se sale el gas por la valvula":                "refrigerant-release",
		"smells like gas in here":                      "gas-smell",
	} {
		require.Equal(t, []string{want}, r.Understand(text, understand.Context{AskedObservation: "contactor"}).Hazards, text)
	}
	require.Empty(t, r.Understand("smells like gas in here", understand.Context{AskedObservation: "contactor"}).Observations)
	require.True(t, r.Understand("gonna grab a part brb", understand.Context{}).Away)
	require.True(t, r.Understand("ahorita vuelvo", understand.Context{}).Away)
}

func TestWhatIsAskedForTakesNoFigure(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string]map[string]float64{
		"sucking line is 62 and suction 118 what's the superheat": {"temperature/suction-line": 62, "pressure/suction": 118},
		"return 78 supply 70 whats my split":                      {"temperature/return-air": 78, "temperature/supply-air": 70},
		"what the superheat is 12":                                {"superheat/system": 12},
		"high side 425 low side 130 its 97 out":                   {"pressure/liquid": 425, "pressure/suction": 130, "temperature/outdoor-air": 97},
		"about 97 out here today":                                 {"temperature/outdoor-air": 97},
		"240 in 0 out right now":                                  {"voltage/contactor-line": 240, "voltage/contactor-load": 0},
	} {
		got := map[string]float64{}
		for _, x := range r.Understand(text, understand.Context{}).Readings {
			got[string(x.Reading)] = float64(x.Value)
		}
		require.Equal(t, want, got, text)
	}
}
