package refrigerant

import (
	"fmt"
	"math"
)

// The quantities a RangeError is about.
const (
	Pressure    = "pressure"
	Temperature = "temperature"
)

// kilopascal is 1 kPa in psi (NIST SP 811).
const kilopascal = 0.1450377

// RangeError is a pressure or temperature a refrigerant's table does not hold.
type RangeError struct {
	Refrigerant string
	// Line is bubble or dew.
	Line string
	// Quantity is Pressure, with the rest in psia, or Temperature, in °F.
	Quantity         string
	Value, Low, High float64
}

// Error says what the table holds and the likely slip.
func (e *RangeError) Error() string {
	if e.Quantity == Temperature {
		return fmt.Sprintf("%s has no %s pressure at %.4g °F, only from %.4g to %.4g °F; check the reading and its unit (°C?)", e.Refrigerant, e.Line, e.Value, e.Low, e.High)
	}
	slip := "check the reading and its unit (kPa? hoses swapped?)"
	if psig := e.Value - StandardAtmosphere; e.Value > e.High && psig*kilopascal+StandardAtmosphere < e.High {
		slip = fmt.Sprintf("if it was read in kPa, say %.4gkPa", psig)
	}
	return fmt.Sprintf("%s has no %s temperature at %.4g psia, only from %.4g to %.4g psia (at sea level %.4g to %.4g psig); %s",
		e.Refrigerant, e.Line, e.Value, e.Low, e.High, e.Low-StandardAtmosphere, e.High-StandardAtmosphere, slip)
}

func (t *Table) outside(l *line, quantity string, value float64) error {
	low, high := t.Span()
	if quantity == Pressure {
		low, high = math.Exp(l.lnp[0]), math.Exp(l.lnp[len(l.lnp)-1])
	}
	return &RangeError{t.name, l.side, quantity, value, low, high}
}

// VacuumError is a gauge pressure below a perfect vacuum, which no gauge can show.
type VacuumError struct {
	Gauge, Atmosphere float64 // psig, psia
}

// Error says how low a gauge can go here and the likely slip.
func (e *VacuumError) Error() string {
	return fmt.Sprintf("%.4g psig is below a perfect vacuum, which is %.4g psig here; check the sign, zero the gauge in open air, or was it inches of mercury (inHg)?", e.Gauge, -e.Atmosphere)
}

// Absolute is the pressure, psia, behind what a gauge reads (psig) under the local
// atmosphere (psia; StandardAtmosphere at sea level, air.Atmosphere at altitude). Not
// above a vacuum it is a VacuumError.
func Absolute(psig, atmosphere float64) (float64, error) {
	if !(psig+atmosphere > 0) {
		return 0, &VacuumError{psig, atmosphere}
	}
	return psig + atmosphere, nil
}

// Gauge is what a gauge reads, psig, at a pressure (psia) under the local atmosphere
// (psia).
func Gauge(psia, atmosphere float64) float64 { return psia - atmosphere }
