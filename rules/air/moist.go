package air

import (
	"fmt"
	"math"
)

// RangeError is a value no air of its kind can have.
type RangeError struct {
	Name             string
	Value, Low, High float64
	Unit             string
	Mend             string
}

// Error says what the value may be and the likely slip.
func (e *RangeError) Error() string {
	return fmt.Sprintf("%s %s %s is outside %s to %s %s; %s", e.Name, plain(e.Value), e.Unit, plain(e.Low), plain(e.High), e.Unit, e.Mend)
}

// plain writes a figure to four places, a large one to its last whole.
func plain(v float64) string {
	if math.Abs(v) >= 1000 && !math.IsInf(v, 0) {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.4g", v)
}

// Moist is air in one state.
type Moist struct {
	DryBulb  float64 // °F
	Ratio    float64 // humidity ratio, lb of water in 1 lb of dry air
	Pressure float64 // psia
}

// driest is the humidity ratio below which air counts as having this one where a
// logarithm is taken, as the reference implementation has it.
const driest = 1e-7

// molar is the mass of water vapour over that of dry air, molecule by molecule.
// Source: ASHRAE Fundamentals ch. 1 eq. 20.
const molar = 0.621945

// vapour is the humidity ratio of air whose water vapour has a pressure (psia).
func vapour(pw, pressure float64) float64 { return molar * pw / (pressure - pw) }

// FromRatio is air of a dry bulb (°F) and a humidity ratio at a pressure (psia).
func FromRatio(dryBulb, ratio, pressure float64) (Moist, error) {
	m, saturated, err := saturatedAt(dryBulb, pressure)
	if err == nil && !(ratio >= 0 && ratio <= saturated) {
		err = &RangeError{"humidity ratio", ratio, 0, saturated, "lb/lb", "air holds no more water than that at its dry bulb"}
	}
	m.Ratio = ratio
	return m, err
}

// FromHumidity is air of a dry bulb (°F) and a relative humidity (%) at a pressure
// (psia). Source: ASHRAE Fundamentals ch. 1 eq. 12 and 20.
func FromHumidity(dryBulb, percent, pressure float64) (Moist, error) {
	m, _, err := saturatedAt(dryBulb, pressure)
	if err == nil && !(percent >= 0 && percent <= 100) {
		err = &RangeError{"relative humidity", percent, 0, 100, "%", "give per cent"}
	}
	m.Ratio = vapour(percent/100*saturation(dryBulb), pressure)
	return m, err
}

// FromDewPoint is air of a dry bulb and a dew point (both °F) at a pressure (psia).
func FromDewPoint(dryBulb, dewPoint, pressure float64) (Moist, error) {
	m, _, err := saturatedAt(dryBulb, pressure)
	if err == nil && !(dewPoint >= coldest && dewPoint <= dryBulb) {
		err = &RangeError{"dew point", dewPoint, coldest, dryBulb, "°F", "a dew point is never above the dry bulb: were the two swapped?"}
	}
	m.Ratio = vapour(saturation(dewPoint), pressure)
	return m, err
}

// FromWetBulb is air of a dry and a wet bulb (both °F) at a pressure (psia). Source:
// ASHRAE Fundamentals ch. 1 eq. 33 and 35.
func FromWetBulb(dryBulb, wetBulb, pressure float64) (Moist, error) {
	m, _, err := saturatedAt(dryBulb, pressure)
	if err != nil {
		return m, err
	}
	if wetBulb >= coldest && wetBulb <= dryBulb {
		m.Ratio = ratioAtWetBulb(dryBulb, wetBulb, pressure)
		if m.Ratio >= 0 {
			return m, nil
		}
	}
	dry := Moist{dryBulb, 0, pressure}
	mend := "no air is that dry: wet the wick, wait until it is steady"
	if wetBulb > dryBulb {
		mend = "a wet bulb is never above the dry bulb: were the two swapped?"
	}
	return m, &RangeError{"wet bulb", wetBulb, dry.WetBulb(), dryBulb, "°F", mend}
}

// saturatedAt is the humidity ratio of saturated air, and the air without its water.
// Boiling water has no air beside it to hold it.
func saturatedAt(dryBulb, pressure float64) (Moist, float64, error) {
	m := Moist{DryBulb: dryBulb, Pressure: pressure}
	if err := inRange("dry bulb", dryBulb); err != nil {
		return m, 0, err
	}
	if !(pressure > 0) || math.IsInf(pressure, 1) {
		return m, 0, &RangeError{"air pressure", pressure, 0, math.Inf(1), "psia", "give the local atmosphere, near 14.7 at the sea"}
	}
	pws := saturation(dryBulb)
	if pws >= pressure {
		return m, 0, &RangeError{"dry bulb", dryBulb, coldest, saturationTemperature(pressure), "°F", "above it water boils at this pressure"}
	}
	return m, vapour(pws, pressure), nil
}

// ratioAtWetBulb is the humidity ratio of air of a dry and a wet bulb, below 0 when
// no air can be so: what the water or ice of the bulb gives up as it cools the air.
func ratioAtWetBulb(dryBulb, wetBulb, pressure float64) float64 {
	saturated := vapour(saturation(wetBulb), pressure)
	if wetBulb >= 32 {
		return ((1093-0.556*wetBulb)*saturated - 0.240*(dryBulb-wetBulb)) / (1093 + 0.444*dryBulb - wetBulb)
	}
	return ((1220-0.04*wetBulb)*saturated - 0.240*(dryBulb-wetBulb)) / (1220 + 0.444*dryBulb - 0.48*wetBulb)
}

// VapourPressure is the pressure of the water vapour, psia.
func (m Moist) VapourPressure() float64 {
	ratio := max(m.Ratio, driest)
	return m.Pressure * ratio / (molar + ratio)
}

// Humidity is the relative humidity, %.
func (m Moist) Humidity() float64 {
	return 100 * m.Pressure * m.Ratio / (molar + m.Ratio) / saturation(m.DryBulb)
}

// DewPoint is the temperature at which the air would be saturated, °F, of air with a
// humidity ratio of at least 1e-7. It never lies above the dry bulb.
func (m Moist) DewPoint() float64 {
	return min(saturationTemperature(m.VapourPressure()), m.DryBulb)
}

// wetBulbWithin is how near WetBulb comes, °F.
const wetBulbWithin = 1e-6

// WetBulb is the thermodynamic wet bulb, °F. Near 32 °F a wet and an iced bulb show
// different temperatures in the same air; one of the two is given, by halving the
// span from the dew point to the dry bulb as the reference implementation does.
func (m Moist) WetBulb() float64 {
	ratio := max(m.Ratio, driest)
	low, high := m.DewPoint(), m.DryBulb
	for high-low > wetBulbWithin {
		middle := (low + high) / 2
		if ratioAtWetBulb(m.DryBulb, middle, m.Pressure) > ratio {
			high = middle
		} else {
			low = middle
		}
	}
	return (low + high) / 2
}

// Enthalpy is Btu for 1 lb of dry air with its water, from 0 °F dry air and 32 °F
// water. Source: ASHRAE Fundamentals ch. 1 eq. 30.
func (m Moist) Enthalpy() float64 {
	return 0.240*m.DryBulb + m.Ratio*(1061+0.444*m.DryBulb)
}

// Volume is ft³ for 1 lb of dry air with its water. Source: ASHRAE Fundamentals ch. 1
// eq. 26.
func (m Moist) Volume() float64 {
	return 0.370486 * (m.DryBulb + rankine) * (1 + 1.607858*m.Ratio) / m.Pressure
}
