package target

import "math"

// Place is where a value lies beside a band.
type Place string

// The places beside a band. Edge is nearer to one of its ends than the reading can
// tell.
const (
	Below  Place = "below"
	Within Place = "within"
	Above  Place = "above"
	Edge   Place = "edge"
)

// Band is a span of values, in their unit, both ends included.
type Band struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Around is the band from minus below to plus above a value, in its unit.
func Around(value, minus, plus float64) Band { return Band{value - minus, value + plus} }

// Share is the band from minus to plus per cent around a value.
func Share(value, minus, plus float64) Band {
	return Band{value * (1 - minus/100), value * (1 + plus/100)}
}

// Place says where a value lies. Closer to an end than doubt, in the value's unit,
// it is at the Edge; doubt 0 gives Below, Within or Above. The rounding of a
// computed end is let pass.
func (b Band) Place(value, doubt float64) Place {
	slack := 1e-9 * max(1, math.Abs(b.Low), math.Abs(b.High))
	switch {
	case doubt > 0 && (math.Abs(value-b.Low) < doubt || math.Abs(value-b.High) < doubt):
		return Edge
	case value < b.Low-slack:
		return Below
	case value > b.High+slack:
		return Above
	}
	return Within
}
