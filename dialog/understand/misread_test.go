package understand_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/dialog/understand/score"
)

// What was once misread, by the rule that reads it now.
var misread = map[string][]said{
	"a figure a live leg shows is not taken for ohms to ground": {
		{"c to ground 120", outdoors, "?120"},
		{"any terminal to ground 118", outdoors, "?118"},
		{"power off, c to ground 120", outdoors, "resistance/compressor-ground 120"},
		{"c to ground 120 ohms", outdoors, "resistance/compressor-ground 120"},
		{"c to ground 120", asked("resistance/compressor-ground"), "resistance/compressor-ground 120"},
		{"c to ground 0", outdoors, "resistance/compressor-ground 0"},
		{"every pin to the copper reads OL", outdoors, "resistance/compressor-ground inf"},
	},
	"between two terminals nobody reads between is neither to common": {
		{"24 across r and y", outdoors, "?24"},
		{"r to y 24", outdoors, "?24"},
		{"24 at r and y", outdoors, "voltage/r-after-fuse 24, voltage/y-outdoor 24"},
	},
	"the sides named after the gauges take the figures": {
		{"gauges say 68 suction 226 head", outdoors, "pressure/suction 68, pressure/liquid 226"},
		{"gauges 68 226", outdoors, "pressure/suction 68, pressure/liquid 226"},
		{"121 on the low side 410 on the high", outdoors, "pressure/suction 121, pressure/liquid 410"},
	},
	"one pressure no line can be that warm with makes both pressures": {
		{"suction 400 liquid 118", outdoors, "pressure/suction 400, pressure/liquid 118"},
		{"suction 38 liquid 150", outdoors, "pressure/suction 38, pressure/liquid 150"},
		{"suction 64 liquid 98", outdoors, "?64, ?98"},
		{"low side 45", outdoors, "pressure/suction 45"},
	},
	"a rating is of the part it is said of": {
		{"blower cap 7.5 reads 7.4", outdoors, "capacitance/blower-capacitor 7.4, blower-capacitor-rating=7.5"},
		{"blower cap 6.1, it's a 10", outdoors, "capacitance/blower-capacitor 6.1, blower-capacitor-rating=10"},
		{"fan cap is a 5, reading 2.1", outdoors, "capacitance/fan-capacitor 2.1, fan-capacitor-rating=5"},
		{"comp pulls 14.3 amps, rated 15.8", outdoors, "current/compressor-common 14.3, rated-load-amps=15.8"},
		{"condenser fan pulls 1.1 amps, rated 1.3", outdoors, "current/outdoor-fan 1.1"},
		{"subcooling is 12. plate calls for 10", outdoors, "subcooling/system 12, target-subcooling=10"},
		{"superheat 14, chart says 12", outdoors, "superheat/system 14, target-superheat=12"},
	},
	"what was given before and is somewhere else": {
		{"the 26 i gave you was at the thermostat not the condenser", earlier("voltage/y-outdoor", 26), "voltage/y-indoor 26, !correct"},
		{"that 24 was at the coil", earlier("voltage/y-outdoor", 24), "voltage/contactor-coil 24, !correct"},
		{"24 at y, not the coil", outdoors, "voltage/y-outdoor 24"},
	},
	"a nominal figure denied behind another puts it right": {
		{"coil reads 14 volts, no 24", outdoors, "voltage/contactor-coil 24, !correct"},
		{"got 27 on r, no 24", outdoors, "voltage/r-after-fuse 27"},
		{"240 at the line side, no 24", outdoors, "voltage/contactor-line 240"},
		{"la alta es 310 no 410", outdoors, "pressure/liquid 310, !correct"},
		{"no perdon, no son 16, son 26", asked("voltage/contactor-coil"), "voltage/contactor-coil 26, !correct"},
	},
	"a guess narrowed down at once is one figure": {
		{"around sixty something? say 62", asked("temperature/suction-line"), "temperature/suction-line 62~"},
		{"somewhere in the 60s, call it 64", asked("temperature/supply-air"), "temperature/supply-air 64~"},
		{"70 something", asked("temperature/return-air"), "temperature/return-air 75~"},
	},
	"what a hand did is nothing seen": {
		{"pulled the wires off the cap", outdoors, ""},
		{"wires fell off the cap", outdoors, "wiring: loose"},
	},
	"a person behind a number is at a door": {
		{"neighbor in 118 yelled at me", outdoors, ""},
	},
	"both answers for both": {
		{"120 both", asked("voltage/l1-ground"), "voltage/l1-ground 120, voltage/l2-ground 120"},
	},
	"from a part is what comes out of it": {
		{"24 from the thermostat", outdoors, "voltage/y-indoor 24"},
		{"nothing from the transformer", outdoors, "voltage/transformer-secondary 0"},
		{"240 from the disconnect", outdoors, "voltage/disconnect-load 240"},
	},
	"weather has no machine state": {
		{"with it off, 95 outside, suction 140", outdoors, "temperature/outdoor-air 95, pressure/suction 140 @standing"},
	},
	"same at the next point is no list": {
		{
			"disconnect line side 241, load side 241, same at top of the contactor, bottom of contactor 0", outdoors,
			"voltage/disconnect-line 241, voltage/disconnect-load 241, voltage/contactor-line 241, voltage/contactor-load 0",
		},
	},
	"a word of two parts is the one its unit is of": {
		{"rh in the return is 61 percent", outdoors, "relative-humidity/return-air 61"},
		{"24 on rh", outdoors, "voltage/r-after-fuse 24"},
		{"drop across the filter .3 inches, drop across the coil .28", outdoors, "static-pressure/filter-drop 0.3, static-pressure/coil-drop 0.28"},
	},
	"a rating is of the part named last": {
		{"herm 11.2 uf says 35 on the can", outdoors, "capacitance/compressor-capacitor 11.2, compressor-capacitor-rating=35"},
		{"fuse on the board popped, 3 amp", outdoors, "control-fuse: blown, control-fuse-rating=3"},
		{"hp switch is tripped, manual reset type", outdoors, "high-pressure-switch: tripped, high-pressure-reset=manual"},
		{"lps tripped, its an auto reset", outdoors, "low-pressure-switch: tripped, low-pressure-reset=automatic"},
		{"3.5 ton, 410, piston", outdoors, "tonnage=3.5, metering-device=fixed-orifice, refrigerant=R-410A"},
		{"the high side is 410", outdoors, "pressure/liquid 410"},
	},
	"a sight is of its own part": {
		{"points are pitted and theres a burnt wire on the lug", outdoors, "contactor: pitted, wiring: burnt"},
		{"condenser fan motor has 238 and the fan aint turning", outdoors, "voltage/outdoor-fan-motor 238, outdoor-fan: off"},
		{"blower is good, fan is dead", outdoors, "blower: running, outdoor-fan: off"},
		{"everything outside is dead", outdoors, "compressor: off, outdoor-fan: off"},
		{"afuera todo apagado", outdoors, "compressor: off, outdoor-fan: off"},
		{"nothing from the outdoor fan", outdoors, "outdoor-fan: off"},
		{"comun a start 3.1 ohms", outdoors, "resistance/compressor-c-s 3.1"},
		{"condenser caked with cottonwood, hosed it off", outdoors, "condenser-coil: dirty, !report-done"},
		{"el termostato no prende", outdoors, "thermostat: blank"},
		{"ya jalan el compresor y el abanico de afuera", outdoors, "compressor: running, outdoor-fan: running"},
	},
	"what goes in Spanish runs, and with a figure behind it reads": {
		{"el blower anda y el compresor anda", outdoors, "blower: running, compressor: running"},
		{"el blower anda pero la unidad de afuera no", outdoors, "blower: running, compressor: off, outdoor-fan: off"},
		{"el abanico de afuera no anda", outdoors, "outdoor-fan: off"},
		{"el compresor anda en 12 amperes", outdoors, "current/compressor-common 12"},
		{"la succion anda en 118", outdoors, "pressure/suction 118"},
	},
	"a word of talk that names a part beside a figure is the part": {
		{"ret 78 sup 70", outdoors, "temperature/return-air 78, temperature/supply-air 70"},
		{"ss2 float switch tripped", outdoors, "float-switch: tripped"},
	},
	"a place takes only its own relation": {
		{"yellow to ground at the condenser 26 but yellow to common 0", outdoors, "voltage/y-outdoor-ground 26, voltage/y-outdoor 0"},
		{"0.4 ohms from the run pin to the shell", outdoors, "resistance/compressor-ground 0.4"},
		{"despues del de alta nada", outdoors, "voltage/high-pressure-switch-out 0"},
		{"tengo 118 de baja y 390 de alta", outdoors, "pressure/suction 118, pressure/liquid 390"},
		{"me da 240 en linea y 0 en carga del contactor", outdoors, "voltage/contactor-line 240, voltage/contactor-load 0"},
	},
	"a state of a part is none of the machine": {
		{"24 at y outside, comp not running", outdoors, "voltage/y-outdoor 24, compressor: off"},
		{"both gauges at 180 when it runs", outdoors, "pressure/suction 180 @calling, pressure/liquid 180 @calling"},
		{"amps 3.2 on comp wont pump", outdoors, "current/compressor-common 3.2"},
	},
	"targets as the plate has them": {
		{"subcool 3 plate says 11", outdoors, "subcooling/system 3, target-subcooling=11"},
		{"superheat 45 should be 15", outdoors, "superheat/system 45, target-superheat=15"},
		{"suction sat 40", outdoors, ""},
		{"comp cap 45 rated test 12", outdoors, "capacitance/compressor-capacitor 12, compressor-capacitor-rating=45"},
	},
	"a figure goes with the word glued to it": {
		{"return 66wb 78db", outdoors, "temperature/return-air-wet-bulb 66, temperature/return-air 78"},
		{"only 120 across the disconnect load", outdoors, "voltage/disconnect-load 120"},
		{"no power at the disconnect", outdoors, "?no power"},
		{"skip this 1", outdoors, "!skip"},
	},
	"the other end of the wire just read": {
		{"24 on yellow at the board and 24 outside", outdoors, "voltage/y-indoor 24, voltage/y-outdoor 24"},
		{"26 at the stat y and 0 at the condenser", outdoors, "voltage/y-indoor 26, voltage/y-outdoor 0"},
		{"yellow to ground outside is 25", outdoors, "voltage/y-outdoor-ground 25"},
		{"me marca 24 el amarillo de la tarjeta y 24 afuera", outdoors, "voltage/y-indoor 24, voltage/y-outdoor 24"},
	},
	"a letter in Spanish is a terminal by what stands beside it": {
		{"hay 26 volts de r a c y 0 de y a c en la tarjeta", outdoors, "voltage/transformer-secondary 26, voltage/y-indoor 0"},
		{"y a tierra 26", outdoors, "voltage/y-outdoor-ground 26"},
		{"el flotador esta en 24 de un lado y 0 del otro", outdoors, "voltage/r-after-fuse 24, voltage/float-switch-out 0"},
		{"en la bobina 25, contactor no cierra", outdoors, "voltage/contactor-coil 25, contactor: dropped-out"},
	},
	"a no is of what stands right behind it": {
		{"no compressor running", outdoors, "compressor: off"},
		{"no fan running outside", outdoors, "outdoor-fan: off"},
		{"no compressor no fan", outdoors, "compressor: off, outdoor-fan: off"},
		{"stat says cooling on but no y call outside", outdoors, ""},
	},
	"each rating takes the figure on its side": {
		{"comp amps 22 lra 80 rla 19", outdoors, "current/compressor-common 22, locked-rotor-amps=80, rated-load-amps=19"},
		{"14.2 rla 68 lra", outdoors, "rated-load-amps=14.2, locked-rotor-amps=68"},
		{"24 from y to c at the contactor coil", outdoors, "voltage/contactor-coil 24"},
	},
	"an open circuit where the words put it": {
		{"compressor ohms ol common to start", outdoors, "resistance/compressor-c-s inf"},
		{"todo abierto en el devanado de arranque", outdoors, "resistance/compressor-c-s inf"},
		{"no marca continuidad", asked("resistance/high-pressure-switch"), "resistance/high-pressure-switch inf"},
	},
	"states by their part": {
		{"contactor humming", outdoors, "contactor: chattering"},
		{"no mete el contactor", outdoors, "contactor: dropped-out"},
		{"my meter dont do microfarads", outdoors, "!cannot-measure"},
		{"across the float switch 25 and the drain's plugged solid", outdoors, "voltage/across-float-switch 25, drain: clogged"},
	},
	"what nothing is read at has no sides": {
		{"lugs top 243 bottom 0", outdoors, "voltage/contactor-line 243, voltage/contactor-load 0"},
		{"top lugs 243 bottom lugs 0", outdoors, "voltage/contactor-line 243, voltage/contactor-load 0"},
	},
	"what goes in and what comes out, in Spanish": {
		{"entran 243 … salen 0", outdoors, "voltage/contactor-line 243, voltage/contactor-load 0"},
		{"al disconnect le entran 243 y le salen 0", outdoors, "voltage/disconnect-line 243, voltage/disconnect-load 0"},
		{"el contactor no entra", outdoors, "contactor: dropped-out"},
	},
	"a fan in a unit is that unit's": {
		{"fan isn't running in the air handler", outdoors, "blower: off"},
		{"the fan on the air handler is dead", outdoors, "blower: off"},
		{"blower is running but the fan isn't", outdoors, "blower: running, outdoor-fan: off"},
	},
	"hearsay reaches back no further than its own clause": {
		{"white to common zero volts and he's got the stat set to 80", outdoors, "voltage/w 0, temperature/setpoint 80"},
		{"24 at y, last week it was 26", outdoors, "voltage/y-outdoor 24"},
		{"118 over 410, tech before me had 90 over 300", outdoors, "pressure/suction 118, pressure/liquid 410"},
		{"240 at the line side, homeowner says it was 78 yesterday", outdoors, "voltage/contactor-line 240"},
		{"24 at y yesterday", outdoors, ""},
		{"last guy had 24 at y, i got 0", outdoors, "voltage/y-outdoor 0"},
		{"ayer daba 26 en la bobina, hoy me da 0", outdoors, "voltage/contactor-coil 0"},
		{"el otro tecnico midio 24 en el amarillo, yo mido 0", outdoors, "voltage/y-outdoor 0"},
		{"he had 24 at the coil last week", outdoors, ""},
	},
	"where a job is": {
		{"ac out at 3 Elm", outdoors, "!open-job"},
		{"next one is at 212 oak, ac not cooling", outdoors, "!open-job"},
		{"not cooling, got 62 on the small one", outdoors, "!open-job, ?62"},
		{"next one", outdoors, "!ask-next"},
		{"not coolin good at 9 hollis, big lines frosted over", outdoors, "suction-line-feel: frosted, !open-job"},
		{"heat pump not cooling at 300 linden, outdoor unit is doing nothing at all", outdoors, "compressor: off, outdoor-fan: off, equipment=heat-pump, !open-job"},
		{"blank stat. 77 oakdale", understand.Context{}, "thermostat: blank"},
		{"ando en la calle nogal 212, no enfria", outdoors, "!open-job"},
		{"en la calle nogal la succion en 118", outdoors, "pressure/suction 118"},
		{"not cooling, 26 yelow", outdoors, "voltage/y-outdoor 26, !open-job"},
	},
	"a yes with a figure of another thing answers nothing": {
		{"yeah 26 on the coil too, still wont suck in", seeing("outdoor-fan"), "voltage/contactor-coil 26, contactor: dropped-out"},
		{"yep shes pulled in", asked("current/compressor-start"), "contactor: pulled-in"},
	},
	"a part of a word in more than one is the same part": {
		{"vapor lines warm", outdoors, "suction-line-feel: warm"},
		{"both runnin outside n blower too", outdoors, "compressor: running, outdoor-fan: running, blower: running"},
		{"blowers goin inside but nothins goin on out here", outdoors, "blower: running, compressor: off, outdoor-fan: off"},
	},
	"a side told after another thing answers no question": {
		{"filters fine. 92 out", asked("subcooling/system"), "filter: clean, ?92"},
		{"drier inlet 95 outlet 80", outdoors, "temperature/liquid-line-before-drier 95, temperature/liquid-line-after-drier 80"},
		{"bottom of the disconnect to ground 121 on one side 0 on other", outdoors, "?121, ?0"},
		{"121 on l1 to ground and 121 l2 to ground but zip across em", outdoors, "voltage/l1-ground 121, voltage/l2-ground 121, voltage/contactor-line 0"},
		{"pulled the fuses one ohms OL", outdoors, ""},
	},
	"in and out are both ends of a figure, and a contactor's chatter": {
		{"contactor in 240 in and out", outdoors, "voltage/contactor-line 240, voltage/contactor-load 240, contactor: pulled-in"},
		{"disconnect 240 in and out", outdoors, "voltage/disconnect-line 240, voltage/disconnect-load 240"},
		{"contactor going in and out", outdoors, "contactor: chattering"},
		{"outside kicks on then off every min or so", outdoors, "compressor: cycling, outdoor-fan: cycling"},
	},
	"what is no line voltage is the weather or asked about": {
		{"410 txv 95 out", asked("voltage/contactor-coil"), "metering-device=txv, refrigerant=R-410A, ?95"},
		{"118 on the line side", outdoors, "voltage/contactor-line 118"},
	},
	"what a capacitor is marked is none of what was asked": {
		{"capacitor del blower 2.1 es de 7.5", asked("current/blower"), "capacitance/blower-capacitor 2.1, blower-capacitor-rating=7.5"},
		{"sale fresco, dif de 18", outdoors, "temperature-split/coil 18, supply-air-feel: cool"},
	},
	"what was blown was not blown out": {
		{"blew the 3 amp fuse", outdoors, "control-fuse: blown, control-fuse-rating=3"},
		{"blew out the drain line", outdoors, "!report-done"},
		{"spliced it", outdoors, "!report-done"},
		{"ya lo lave", outdoors, "!report-done"},
	},
	"a refrigerant in front of what else the unit has": {
		{"410 with a txv", outdoors, "metering-device=txv, refrigerant=R-410A"},
		{"410 con valvula de expansion", outdoors, "metering-device=txv, refrigerant=R-410A"},
		{"liquid 410 txv", outdoors, "pressure/liquid 410, metering-device=txv"},
	},
	"what others saw is not seen": {
		{"the other company told her the compressor is shot", outdoors, ""},
		{"yesterday the compressor was humming but today it's off", outdoors, "compressor: off"},
	},
	"a figure told by mistake is none": {
		{"oops 24 at R to C i typed 42", outdoors, "voltage/transformer-secondary 24, !correct"},
		{"scratch that suction's 68 not 86", outdoors, "!correct, ?68"},
		{"liquid 310 instead of 410", outdoors, "pressure/liquid 310, !correct"},
		{"i put 45 and 5 on herm and fan", outdoors, "capacitance/compressor-capacitor 45, capacitance/fan-capacitor 5"},
	},
	"same behind its place": {
		{"L1 L2 at the top of the contactor 238, T1 T2 same", outdoors, "voltage/contactor-line 238, voltage/contactor-load 238"},
		{"suction 118 same as before", outdoors, "pressure/suction 118"},
	},
	"past a part, however it is called": {
		{"27 volts out of the transformer but nothin on the other side of that lil purple fuse", outdoors, "voltage/transformer-secondary 27, voltage/r-after-fuse 0"},
		{"yellow to brown 24.8, after it goes thru the low pressure its zero", outdoors, "voltage/y-outdoor 24.8, voltage/low-pressure-switch-out 0"},
	},
	"one that stands for a part counts nothing": {
		{"the condenser one", outdoors, ""},
		{"suction on the big line one eighteen", outdoors, "pressure/suction 118"},
	},
	"a part of two that nothing tells is asked about": {
		{"fan isn't running", understand.Context{}, "?fan"},
		{"coil is filthy", understand.Context{}, "?coil"},
		{"fan hums", asked("current/outdoor-fan"), "outdoor-fan: humming"},
		{"blade is froze up wont turn by hand", understand.Context{}, "?blade"},
		{"coil is froze up", understand.Context{}, "evaporator-coil: iced"},
		{"fan spins free by hand but it won't take off", outdoors, "outdoor-fan: off"},
	},
	"the weather by the words beside it": {
		{"97 out today", outdoors, "temperature/outdoor-air 97"},
		{"hace 97 afuera hoy", outdoors, "temperature/outdoor-air 97"},
	},
	"what is done is done, whatever is read beside it": {
		{"yeah it's done, 24 on the coil now", outdoors, "voltage/contactor-coil 24, !report-done"},
	},
	"a no to a voltage that was asked is none": {
		{"nope", asked("voltage/contactor-coil"), "voltage/contactor-coil 0"},
		{"nah nothing", asked("voltage/contactor-coil"), "voltage/contactor-coil 0"},
		{"no there isn't", asked("voltage/contactor-line"), "voltage/contactor-line 0"},
	},
}

func earlier(id string, x float64) understand.Context {
	c := asked("")
	c.Earlier = []understand.Reading{{Reading: asked(id).Asked, Value: understand.Value(x)}}
	return c
}

func seeing(subject string) understand.Context {
	return understand.Context{AskedObservation: subject, Place: "outdoor"}
}

func TestWhatWasMisreadIsRead(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for rule, lines := range misread {
		t.Run(rule, func(t *testing.T) {
			t.Parallel()
			for _, l := range lines {
				require.Equal(t, l.want, show(r.Understand(l.text, l.ctx)), l.text)
			}
		})
	}
}

func TestWhatACorrectionMovesIsTakenBack(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	require.Equal(t, asked("pressure/liquid").Asked, r.Understand("I meant suction", earlier("pressure/liquid", 118)).TakenBack[0])
	require.Equal(t, asked("voltage/y-outdoor").Asked, r.Understand("the 26 i gave you was at the thermostat", earlier("voltage/y-outdoor", 26)).TakenBack[0])
	require.Empty(t, r.Understand("26 not 16", earlier("voltage/y-outdoor", 16)).TakenBack)
}

func TestWhatNobodyKnowsOfAPartIsSaidBack(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string][]string{
		"the contactor is flibbered":                   {"the contactor is flibbered"},
		"24 at y, suction line wearing a zorgle":       {"suction line wearing a zorgle"},
		"compressor flibbering, fan off":               {"compressor flibbering"},
		"filter chattering":                            {"filter chattering"},
		"contactor's in":                               nil,
		"24 at the coil":                               nil,
		"opened up the air handler":                    nil,
		"this attic is killing me":                     nil,
		"is the contactor zorgling?":                   nil,
		"my cousin bought a boat":                      nil,
		"swapped the contactor":                        nil,
		"contactor in the zorgle had 24 on it":         nil,
		"pulled the wires off the capacitor, reads 38": nil,
	} {
		require.Equal(t, want, r.Understand(text, understand.Context{}).Puzzles, text)
	}
}

// Who is asked about every word stops writing: of the labelled messages, which are
// all taken, hardly one is said back.
func TestPuzzlesAreRare(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	files, err := filepath.Glob("../../testdata/language/*.jsonl")
	require.NoError(t, err)
	read, puzzled := 0, 0
	for _, name := range files {
		file, err := os.Open(name)
		require.NoError(t, err)
		cases, err := score.Read(file)
		require.NoError(t, err)
		require.NoError(t, file.Close())
		for _, c := range cases {
			read++
			puzzled += len(r.Understand(c.Text, c.Context()).Puzzles)
		}
	}
	require.Less(t, 200*puzzled, read)
}

func TestAReadingCalledGoodIsAskedForItsFigure(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for _, text := range []string{"looks good", "all good", "fine"} {
		require.Contains(t, r.Understand(text, asked("current/compressor-common")).Present, asked("current/compressor-common").Asked, text)
	}
	require.Empty(t, r.Understand("cat is on the roof", asked("current/compressor-common")).Present)
}

func TestWhatIsSaidNotToRunDoesNot(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string][]understand.Observation{
		"blower motor has 118 volts on it and it isn't spinning": {{Subject: "blower", State: "off"}},
		"common 13.1 run 12.0 start 3.2":                         {},
		"heat pump on 454B with an ecm blower":                   {},
		"cover is rusted on":                                     {},
	} {
		got := r.Understand(text, understand.Context{Asked: "resistance/compressor-c-s"}).Observations
		require.Equal(t, want, got, text)
	}
}

func TestAFigureDeniedBehindItsPlaceIsTakenBack(t *testing.T) {
	t.Parallel()
	r := newReader(t)
	for text, want := range map[string]float64{
		"scratch that, 27 volts on the contactor coil not 17":                27,
		"perdón me equivoqué, son 26 volts en la bobina del contactor no 16": 26,
	} {
		u := r.Understand(text, understand.Context{})
		require.Len(t, u.Readings, 1, text)
		require.InDelta(t, want, float64(u.Readings[0].Value), 1e-9, text)
		require.Empty(t, u.Unclear, text)
		require.Contains(t, u.Intents, "correct", text)
	}
}

func TestTheLetterOfARefrigerantIsNoTerminal(t *testing.T) {
	t.Parallel()
	u := newReader(t).Understand("does not cool at 3 Elm, r-410a txv", understand.Context{})
	require.Empty(t, u.Readings)
	require.Contains(t, u.Facts, understand.Fact{Fact: "refrigerant", Value: "R-410A"})
}
