package electric

import (
	"fmt"

	"proveout/knowledge"
)

// Checks are the limits electrical readings are held against where the part is not
// marked otherwise. They are never changed after NewChecks.
type Checks struct {
	capacitorTolerance, capacitorDoubt              float64 // %
	sumShare, sumFloor                              float64 // %, ohm
	groundGood, groundWatch, groundDry, groundFault float64 // ohm
	imbalanceKeep, imbalanceStop, legsApart         float64 // %
	legLost, supplyLeast, supplyMost                float64 // V
	motorBand, sagMost, lockedShare                 float64 // %
}

// NewChecks takes the limits from the knowledge.
func NewChecks(base *knowledge.Base) (*Checks, error) {
	c := &Checks{}
	err := base.Figures(map[string]*float64{
		"capacitor-tolerance": &c.capacitorTolerance, "capacitor-doubt": &c.capacitorDoubt,
		"winding-sum-share": &c.sumShare, "winding-sum-floor": &c.sumFloor,
		"ground-good": &c.groundGood, "ground-watch": &c.groundWatch, "ground-dry": &c.groundDry, "ground-fault": &c.groundFault,
		"imbalance-keep": &c.imbalanceKeep, "imbalance-stop": &c.imbalanceStop,
		"legs-apart": &c.legsApart, "leg-lost": &c.legLost,
		"supply-least": &c.supplyLeast, "supply-most": &c.supplyMost,
		"motor-voltage-band": &c.motorBand, "start-sag-most": &c.sagMost, "amps-locked": &c.lockedShare,
	})
	if err != nil {
		return nil, fmt.Errorf("preparing the electrical checks: %w", err)
	}
	return c, nil
}

// RangeError is a value no meter shows for what is asked.
type RangeError struct {
	Name  string
	Value float64
	Least float64 // the value must be this or above it
	Unit  string
	Mend  string
}

// Error says what the value must be and the mend.
func (e *RangeError) Error() string {
	is := "is not above"
	if e.Value < e.Least {
		is = "is below"
	}
	return fmt.Sprintf("%s %.4g %s %s %.4g %s; %s", e.Name, e.Value, e.Unit, is, e.Least, e.Unit, e.Mend)
}

// above wants a value over nothing.
func above(name string, value float64, unit, mend string) error {
	if !(value > 0) {
		return &RangeError{name, value, 0, unit, mend}
	}
	return nil
}
