package air

import (
	"errors"
	"fmt"
	"math"

	"proveout/knowledge"
	"proveout/rules/target"
)

// Checks hold air side readings against what the knowledge says they should be.
type Checks struct {
	split                               *target.Table
	splitTolerance                      float64 // °F
	staticRated, staticSerious, airflow float64 // in. w.c., in. w.c., cfm/ton
}

// NewChecks takes the target split and the limits from the knowledge.
func NewChecks(base *knowledge.Base) (*Checks, error) {
	c := &Checks{}
	err := base.Figures(map[string]*float64{
		"split-tolerance": &c.splitTolerance, "static-rated": &c.staticRated,
		"static-serious": &c.staticSerious, "charge-airflow-least": &c.airflow,
	})
	if err != nil {
		return nil, fmt.Errorf("preparing the air side checks: %w", err)
	}
	t := base.Targets["temperature-split"]
	if t == nil {
		return nil, errors.New("preparing the air side checks: there is no target temperature-split; put it back under targets/")
	}
	if c.split, err = target.New(t); err != nil {
		return nil, fmt.Errorf("preparing the air side checks: %w", err)
	}
	return c, nil
}

// Split is a temperature split beside its target, °F.
type Split struct {
	Measured, Target, Difference, Tolerance float64
	// Place: Above speaks for low airflow; Below asks for the readings again, and then
	// speaks for low capacity, the airflow being right.
	Place target.Place
	// Mark and Source are the target table's.
	Mark, Source string
}

// Difference is the temperature split, °F: return less supply dry bulb. A cooling
// coil makes no warmer air: below 0 the two were swapped or it is not cooling.
func Difference(returnDryBulb, supply float64) (float64, error) {
	d := returnDryBulb - supply
	if !(d >= 0) {
		return d, &RangeError{"supply air", supply, coldest, returnDryBulb, "°F", "in cooling it is not warmer than the return: were the two swapped, or is the machine heating?"}
	}
	return d, nil
}

// TargetSplit is the split a coil should make, °F, by the return dry and wet bulb
// (°F). Besides the table's own errors, a wet bulb above the dry bulb is a RangeError.
func (c *Checks) TargetSplit(returnDryBulb, returnWetBulb float64) (float64, error) {
	if returnWetBulb > returnDryBulb {
		return 0, &RangeError{"return wet bulb", returnWetBulb, coldest, returnDryBulb, "°F", "a wet bulb is never above the dry bulb: were the two swapped?"}
	}
	return c.split.At(returnDryBulb, returnWetBulb)
}

// Split holds a split against its target: return dry and wet bulb, supply dry bulb
// (°F), the machine settled.
func (c *Checks) Split(returnDryBulb, returnWetBulb, supply float64) (Split, error) {
	s := Split{Tolerance: c.splitTolerance, Mark: c.split.Mark, Source: c.split.Source}
	var err error
	if s.Measured, err = Difference(returnDryBulb, supply); err != nil {
		return s, err
	}
	if s.Target, err = c.TargetSplit(returnDryBulb, returnWetBulb); err != nil {
		return s, err
	}
	s.Difference = s.Measured - s.Target
	s.Place = target.Around(0, s.Tolerance, s.Tolerance).Place(s.Difference, 0)
	return s, nil
}

// Strain is how a total static pressure lies beside the blower's rating.
type Strain string

// The strains: within the rating, over it, and so far over it that something is in
// the way.
const (
	Rated   Strain = "within rating"
	Over    Strain = "over rating"
	Serious Strain = "serious"
)

// Static is a total external static pressure beside its rating, in. w.c.
type Static struct {
	Total, Rating, Serious float64
	Strain                 Strain
}

// TotalStatic is the total external static pressure, in. w.c., of the supply and the
// return side's: the return's counts without its sign.
func TotalStatic(supply, returned float64) float64 { return supply + math.Abs(returned) }

// Static holds a total external static pressure (in. w.c.) against the blower's rating
// (in. w.c.; 0 when its plate is not known, and then the usual one).
func (c *Checks) Static(total, rating float64) (Static, error) {
	if !(total >= 0) {
		return Static{}, &RangeError{"total static pressure", total, 0, 10, "in. w.c.", "add the supply's and the return's without their signs"}
	}
	s := Static{Total: total, Rating: rating, Serious: c.staticSerious, Strain: Rated}
	if !(s.Rating > 0) {
		s.Rating = c.staticRated
	}
	s.Serious = max(s.Serious, s.Rating)
	switch {
	case total > s.Serious:
		s.Strain = Serious
	case total > s.Rating:
		s.Strain = Over
	}
	return s, nil
}

// EnoughAirflow says whether an airflow (cfm) is over what a charge may be judged
// with, for a machine's size (tons).
func (c *Checks) EnoughAirflow(cfm, tons float64) bool { return cfm > c.airflow*tons }
