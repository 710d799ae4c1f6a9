package charge

import (
	"errors"
	"fmt"
	"math"

	"proveout/knowledge"
	"proveout/rules/target"
)

// Checks are the procedure's tables and limits. They are never changed after NewChecks.
type Checks struct {
	superheat *target.Table

	outdoorLeast, returnLeast               float64 // °F
	airflowLeast                            float64 // cfm/ton
	settled, settledFully                   float64 // min
	superheatTolerance, subcoolingTolerance float64 // °F
	valve                                   target.Band
	subcoolingSource                        string
}

// NewChecks takes the target superheat and the limits from the knowledge.
func NewChecks(base *knowledge.Base) (*Checks, error) {
	c := &Checks{}
	err := base.Figures(map[string]*float64{
		"charge-outdoor-least": &c.outdoorLeast, "charge-return-least": &c.returnLeast, "charge-airflow-least": &c.airflowLeast,
		"charge-settled": &c.settled, "charge-settled-fully": &c.settledFully,
		"superheat-tolerance": &c.superheatTolerance, "subcooling-tolerance": &c.subcoolingTolerance,
		"valve-superheat-least": &c.valve.Low, "valve-superheat-most": &c.valve.High,
	})
	t := base.Targets["superheat"]
	if err == nil && t == nil {
		err = errors.New("there is no target superheat; put it back under targets/")
	}
	if err == nil {
		c.subcoolingSource = base.Limits["subcooling-tolerance"].Source
		c.superheat, err = target.New(t)
	}
	if err != nil {
		return nil, fmt.Errorf("preparing the charge checks: %w", err)
	}
	return c, nil
}

// Call is what a judged charge speaks for.
type Call string

// The calls. NotJudged is the zero value: the conditions do not hold.
const (
	NotJudged Call = ""
	Under     Call = "undercharge"
	Right     Call = "within tolerance"
	Over      Call = "overcharge"
)

// Verdict is a measured figure beside its target.
type Verdict struct {
	// Call is NotJudged when a condition is Unmet.
	Call  Call
	Unmet []Condition
	// Measured, Target, their Difference and the Tolerance it is held to, °F. Target and
	// Difference are NaN where there is no target.
	Measured, Target, Difference, Tolerance float64
	// Settling says that it was judged before it had fully settled: read again then.
	Settling bool
	// Valve says how the superheat lies beside what a valve in control holds; empty when
	// it was not taken, or the device is no valve. Below speaks for a flooding, Above for
	// a starved valve or a charge too low to feed it.
	Valve target.Place
	// Mark and Source say how far the target may be trusted.
	Mark, Source string
}

// TargetSuperheat is the superheat, °F, a fixed orifice should have at an outdoor dry
// bulb and a return wet bulb (°F). It is a target.NoTargetError where the table is
// blank and a target.OutsideError where it does not reach.
func (c *Checks) TargetSuperheat(outdoor, returnWetBulb float64) (float64, error) {
	return c.superheat.At(outdoor, returnWetBulb)
}

// TargetTable says how far the target superheat may be trusted and where it is from.
func (c *Checks) TargetTable() (mark, source string) { return c.superheat.Mark, c.superheat.Source }

// FixedOrifice judges the charge of a machine with a fixed orifice or capillary by
// its superheat (°F): above the target by more than the tolerance speaks for too
// little, below for too much.
func (c *Checks) FixedOrifice(s Setting, superheat float64) Verdict {
	v := Verdict{Measured: superheat, Target: math.NaN(), Tolerance: c.superheatTolerance, Mark: c.superheat.Mark, Source: c.superheat.Source}
	v.Unmet = taken(c.common(s), superheat, "superheat")
	if math.IsNaN(s.ReturnWetBulb) {
		v.Unmet = append(v.Unmet, Condition{ID: WetBulb, Why: "unknown"})
	} else if s.ReturnWetBulb > s.ReturnDryBulb {
		v.Unmet = append(v.Unmet, Condition{ID: WetBulb, Why: "above"})
	} else if at, err := c.TargetSuperheat(s.Outdoor, s.ReturnWetBulb); err == nil {
		v.Target = at
	} else if s.Outdoor >= c.outdoorLeast {
		v.Unmet = append(v.Unmet, noTarget(s, err))
	}
	return v.judged(Over, Under, s.Minutes < c.settledFully)
}

// ExpansionValve judges the charge of a machine with an expansion valve by its
// subcooling (°F) against the plate's (°F, NaN when it cannot be read): below by more
// than the tolerance speaks for too little, above for too much. The superheat (°F,
// NaN when not taken) shows whether the valve is in control.
func (c *Checks) ExpansionValve(s Setting, subcooling, plate, superheat float64) Verdict {
	v := Verdict{Measured: subcooling, Target: plate, Tolerance: c.subcoolingTolerance, Mark: "the machine's plate", Source: c.subcoolingSource}
	v.Unmet = taken(c.common(s), subcooling, "subcooling")
	if math.IsNaN(plate) {
		v.Unmet = append(v.Unmet, Condition{ID: TargetGiven, Why: "plate"})
	}
	if !math.IsNaN(superheat) {
		v.Valve = c.valve.Place(superheat, 0)
	}
	return v.judged(Under, Over, s.Minutes < c.settledFully)
}

// noTarget is the condition that the table has a target for a setting.
func noTarget(s Setting, err error) Condition {
	at := []string{"outdoor", short(s.Outdoor), "wet-bulb", short(s.ReturnWetBulb)}
	if blank, ok := errors.AsType[*target.NoTargetError](err); ok {
		return Condition{TargetGiven, "blank", append(at, "least", short(blank.From))}
	}
	return Condition{TargetGiven, "beyond", at}
}

// taken adds a condition for a figure that is not there.
func taken(unmet []Condition, measured float64, name string) []Condition {
	if math.IsNaN(measured) {
		unmet = append(unmet, Condition{ID: ReadingDone, Why: name})
	}
	return unmet
}

// judged holds the figure against its target when every condition holds.
func (v Verdict) judged(below, above Call, settling bool) Verdict {
	v.Difference = v.Measured - v.Target
	if len(v.Unmet) > 0 {
		return v
	}
	v.Settling = settling
	v.Call = map[target.Place]Call{target.Below: below, target.Within: Right, target.Above: above}[target.Around(0, v.Tolerance, v.Tolerance).Place(v.Difference, 0)]
	return v
}
