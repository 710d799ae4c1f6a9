package charge

import (
	"math"
	"strconv"
)

// Airflow says what is known of the airflow.
type Airflow string

// What can be known of the airflow. Verified means that the temperature split passes
// or that the measured airflow is over the least the procedure allows; Unjudged that a
// split is read whose target is not known without the return air's wet bulb.
const (
	NotVerified Airflow = "not verified"
	Unjudged    Airflow = "unjudged"
	Verified    Airflow = "verified"
	Low         Airflow = "low"
)

// Measured is what an airflow, cfm, says for a system of so many tons; NotVerified
// where one of them is not taken.
func (c *Checks) Measured(cfm, tons float64) Airflow {
	switch perTon := cfm / tons; {
	case !(tons > 0) || math.IsNaN(cfm):
		return NotVerified
	case perTon < c.airflowLeast:
		return Low
	}
	return Verified
}

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

// Condition is one that does not hold, and why. What is said of it, and what mends it, are
// the phrases unmet- and mend- with its Name, which Figures fill.
type Condition struct {
	ID      ConditionID
	Why     string
	Figures []string // names and figures in turn
}

// Name is the condition's with why it does not hold, as phrases have it.
func (c *Condition) Name() string { return string(c.ID) + "-" + c.Why }

// common lists the conditions of both methods that do not hold, airflow first: it is
// put right before anything is read again.
func (c *Checks) common(s Setting) []Condition {
	var unmet []Condition
	fails := func(id ConditionID, why string, figures ...string) {
		unmet = append(unmet, Condition{id, why, figures})
	}
	switch s.Airflow {
	case Verified:
	case Low:
		fails(AirflowDone, "low")
	case Unjudged:
		fails(AirflowDone, "unjudged")
	default:
		fails(AirflowDone, "unverified", "least", short(c.airflowLeast))
	}
	switch settling := []string{"least", short(c.settled), "most", short(c.settledFully)}; {
	case math.IsNaN(s.Minutes):
		fails(Settled, "unsaid", settling...)
	case !(s.Minutes >= c.settled):
		fails(Settled, "early", append(settling, "is", short(s.Minutes))...)
	}
	switch {
	case math.IsNaN(s.Outdoor):
		fails(OutdoorWarm, "unknown")
	case !(s.Outdoor >= c.outdoorLeast):
		fails(OutdoorWarm, "cold", "is", short(s.Outdoor), "least", short(c.outdoorLeast))
	}
	switch {
	case math.IsNaN(s.ReturnDryBulb):
		fails(ReturnWarm, "unknown")
	case !(s.ReturnDryBulb >= c.returnLeast):
		fails(ReturnWarm, "cold", "is", short(s.ReturnDryBulb), "least", short(c.returnLeast))
	}
	return unmet
}

// short is a figure with the digits a reading has.
func short(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }
