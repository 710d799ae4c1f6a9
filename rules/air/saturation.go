package air

import "math"

// StandardPressure is sea-level pressure, psia.
const StandardPressure = 14.696

// The altitudes, ft, between which the standard atmosphere's formula is given.
const (
	altitudeLow  = -16404
	altitudeHigh = 36089
)

// Atmosphere is the pressure of the standard atmosphere, psia, at an altitude (ft).
// Source: ASHRAE Fundamentals ch. 1 eq. 3.
func Atmosphere(feet float64) (float64, error) {
	if !(feet >= altitudeLow && feet <= altitudeHigh) {
		return 0, &RangeError{"altitude", feet, altitudeLow, altitudeHigh, "ft", "give feet above the sea"}
	}
	return StandardPressure * math.Pow(1-6.8754e-6*feet, 5.2559), nil
}

// rankine is 0 °F above absolute zero, °F.
const rankine = 459.67

// triple is the triple point of water, °F: at and below it the air is saturated
// over ice.
const triple = 32.018

// The temperatures, °F, between which saturation over ice and water is given.
const (
	coldest = -148
	hottest = 392
)

// lnSaturation is ln of the saturation pressure of water vapour, psia, at a
// temperature (°F) from -148 to 392, and its slope, 1/°F. Source: ASHRAE Fundamentals
// ch. 1 eq. 5 (over ice) and 6 (over water), of Hyland and Wexler 1983.
func lnSaturation(f float64) (lnp, slope float64) {
	t := f + rankine
	if f <= triple {
		lnp = -1.0214165e4/t - 4.8932428 - 5.3765794e-3*t + 1.9202377e-7*t*t +
			3.5575832e-10*t*t*t - 9.0344688e-14*t*t*t*t + 4.1635019*math.Log(t)
		slope = 1.0214165e4/(t*t) - 5.3765794e-3 + 2*1.9202377e-7*t +
			3*3.5575832e-10*t*t - 4*9.0344688e-14*t*t*t + 4.1635019/t
		return lnp, slope
	}
	lnp = -1.0440397e4/t - 1.1294650e1 - 2.7022355e-2*t + 1.2890360e-5*t*t -
		2.4780681e-9*t*t*t + 6.5459673*math.Log(t)
	slope = 1.0440397e4/(t*t) - 2.7022355e-2 + 2*1.2890360e-5*t - 3*2.4780681e-9*t*t + 6.5459673/t
	return lnp, slope
}

// saturation is the saturation pressure of water vapour, psia, inside the range.
func saturation(f float64) float64 {
	lnp, _ := lnSaturation(f)
	return math.Exp(lnp)
}

// SaturationPressure is the pressure of water vapour in saturated air, psia, at a
// temperature (°F): over ice up to 32.018 °F, over water above.
func SaturationPressure(f float64) (float64, error) {
	if err := inRange("dry bulb", f); err != nil {
		return 0, err
	}
	return saturation(f), nil
}

func inRange(name string, f float64) error {
	if !(f >= coldest && f <= hottest) {
		return &RangeError{name, f, coldest, hottest, "°F", "check the reading and its unit"}
	}
	return nil
}

// saturationTemperature is where water vapour of a pressure (psia) saturates, °F, held
// at the ends of the range. Newton's method on ln p: nearly straight in 1/T, so the
// steps are taken in 1/T and few are needed.
func saturationTemperature(psia float64) float64 {
	lnp, f := math.Log(psia), 60.0
	for range 50 {
		at, slope := lnSaturation(f)
		t := f + rankine
		next := min(max(1/(1/t-(lnp-at)/(slope*t*t))-rankine, coldest), hottest)
		if math.Abs(next-f) < 1e-9 {
			return next
		}
		f = next
	}
	return f
}
