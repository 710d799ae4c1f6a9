package charge

import (
	"fmt"
	"math"
)

// Airflow says what is known of the airflow.
type Airflow string

// What can be known of the airflow. Verified means that the temperature split passes
// or that the measured airflow is over the least the procedure allows.
const (
	NotVerified Airflow = "not verified"
	Verified    Airflow = "verified"
	Low         Airflow = "low"
)

// Setting is what a charge is judged in; NaN is not taken.
type Setting struct {
	Outdoor       float64 // dry bulb of the air entering the outdoor coil, °F
	ReturnDryBulb float64 // °F
	ReturnWetBulb float64 // °F; a fixed orifice needs it
	Airflow       Airflow // the zero value is NotVerified
	Minutes       float64 // running since the start or the last change of charge
}

// ConditionID names a condition of the procedure.
type ConditionID string

// The conditions under which a charge may be judged.
const (
	OutdoorWarm ConditionID = "outdoor-air"
	ReturnWarm  ConditionID = "return-air"
	WetBulb     ConditionID = "return-air-wet-bulb"
	AirflowDone ConditionID = "airflow"
	Settled     ConditionID = "settled"
	TargetGiven ConditionID = "target"
	ReadingDone ConditionID = "reading"
)

// Condition is one that does not hold, in words for the person: what is missing and
// what to do.
type Condition struct {
	ID   ConditionID `json:"condition"`
	What string      `json:"what"`
	Mend string      `json:"mend"`
}

// common lists the conditions of both methods that do not hold, airflow first: it is
// put right before anything is read again.
func (c *Checks) common(s Setting) []Condition {
	var unmet []Condition
	fails := func(id ConditionID, mend, what string, args ...any) {
		unmet = append(unmet, Condition{id, fmt.Sprintf(what, args...), mend})
	}
	switch s.Airflow {
	case Verified:
	case Low:
		fails(AirflowDone, "put the airflow right first: filter, coil, blower, duct", "the airflow is low")
	default:
		fails(AirflowDone, fmt.Sprintf("check the temperature split, or measure more than %g cfm a ton", c.airflowLeast), "the airflow is not verified")
	}
	switch {
	case math.IsNaN(s.Minutes):
		fails(Settled, fmt.Sprintf("let it run %g to %g minutes, then read", c.settled, c.settledFully), "it is not said how long it has run")
	case !(s.Minutes >= c.settled):
		fails(Settled, fmt.Sprintf("read again after %g to %g minutes", c.settled, c.settledFully), "it has run %.3g minutes since the start or the last change", s.Minutes)
	}
	switch {
	case math.IsNaN(s.Outdoor):
		fails(OutdoorWarm, "measure the air entering the outdoor coil, in the shade", "the outdoor temperature is not known")
	case !(s.Outdoor >= c.outdoorLeast):
		fails(OutdoorWarm, "weigh the charge in, or come back when it is warmer", "the outdoor air is %.3g °F, under %g", s.Outdoor, c.outdoorLeast)
	}
	switch {
	case math.IsNaN(s.ReturnDryBulb):
		fails(ReturnWarm, "measure the return air's dry bulb", "the return temperature is not known")
	case !(s.ReturnDryBulb >= c.returnLeast):
		fails(ReturnWarm, "warm the house to it first", "the return air is %.3g °F, under %g", s.ReturnDryBulb, c.returnLeast)
	}
	return unmet
}
