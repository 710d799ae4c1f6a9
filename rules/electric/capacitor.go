package electric

import (
	"math"

	"proveout/rules/target"
)

// MainsHertz is the frequency of the supply, Hz.
const MainsHertz = 60

// Capacitance is what a running capacitor holds, µF, by the current in the lead from
// it to the start winding alone (A) and the voltage across its own terminals (V), the
// machine running, at a frequency (Hz): 10⁶ I / (2π f V), from I = V · 2π f C. At 60
// Hz that is 2652.6 I / V.
func Capacitance(amps, volts, hertz float64) (float64, error) {
	if !(amps >= 0) {
		return 0, &RangeError{"current", amps, 0, "A", "clamp the lead from the capacitor to the start winding alone"}
	}
	if err := above("voltage", volts, "V", "measure across the capacitor's own terminals while it runs"); err != nil {
		return 0, err
	}
	if err := above("frequency", hertz, "Hz", "give 60"); err != nil {
		return 0, err
	}
	return 1e6 * amps / (2 * math.Pi * hertz * volts), nil
}

// Tolerance is how far a capacitor may lie from its marking, %.
type Tolerance struct {
	Minus, Plus float64
}

// Capacitor is a capacitance beside its marking.
type Capacitor struct {
	Band target.Band // µF
	// Share is the difference from the marking, %.
	Share float64
	// Place: Below, replace it; Edge, nearer to an end of the band than the two meters
	// can tell, so no verdict.
	Place target.Place
}

// Capacitor holds a capacitance (µF, measured or under load) against the marking (µF)
// and its tolerance; the zero Tolerance is the usual one.
func (c *Checks) Capacitor(measured, marked float64, tolerance Tolerance) (Capacitor, error) {
	if err := above("marking", marked, "µF", "read it on the capacitor"); err != nil {
		return Capacitor{}, err
	}
	if !(measured >= 0) {
		return Capacitor{}, &RangeError{"capacitance", measured, 0, "µF", "measure again, discharged and both leads off"}
	}
	if tolerance == (Tolerance{}) {
		tolerance = Tolerance{c.capacitorTolerance, c.capacitorTolerance}
	}
	band := target.Share(marked, tolerance.Minus, tolerance.Plus)
	return Capacitor{band, 100 * (measured/marked - 1), band.Place(measured, measured*c.capacitorDoubt/100)}, nil
}
