package rules

import (
	"math"
	"strconv"

	"proveout/knowledge"
	"proveout/rules/air"
	"proveout/rules/charge"
	"proveout/rules/target"
)

// The readings a charge is judged by.
const (
	superheat  knowledge.ReadingID = "superheat/system"
	subcooling knowledge.ReadingID = "subcooling/system"
	split      knowledge.ReadingID = "temperature-split/coil"
	outdoorAir knowledge.ReadingID = "temperature/outdoor-air"
	airflow    knowledge.ReadingID = "airflow/system"
)

// assumedMinutes is how long a machine is taken to have run when nobody says: long
// enough to be judged, short enough to be told to read again.
const assumedMinutes = 12

// procedures are the published checks a situation is held to.
type procedures struct {
	charge *charge.Checks
	air    *air.Checks
}

func proceduresOf(base *knowledge.Base) (procedures, error) {
	c, err := charge.NewChecks(base)
	if err != nil {
		return procedures{}, err
	}
	a, err := air.NewChecks(base)
	return procedures{c, a}, err
}

// judgeCharge holds the charge to the published check of the unit's metering
// device. It is nil before the device is told and the readings are in.
func (m *Model) judgeCharge(s *Situation) *charge.Verdict {
	device := s.Facts["metering-device"]
	sh, hasSH := s.running(superheat)
	sc, hasSC := s.running(subcooling)
	setting := charge.Setting{
		Outdoor: s.told(outdoorAir, "outdoor-temperature"), ReturnDryBulb: s.told(returnAir, "return-temperature"),
		ReturnWetBulb: s.told(wetBulb, "return-wet-bulb"), Airflow: m.airflow(s), Minutes: assumedMinutes,
	}
	switch {
	case device == "fixed-orifice" && hasSH:
		v := m.procedures.charge.FixedOrifice(setting, sh)
		return &v
	case device == "txv" && hasSC:
		if !hasSH {
			sh = math.NaN()
		}
		v := m.procedures.charge.ExpansionValve(setting, sc, number(s.Facts["target-subcooling"]), sh)
		return &v
	}
	return nil
}

// airflow is verified by a measured one, or by the temperature split where its target
// is known: a split above it is too little air; one below is too little cold, not too
// little air.
func (m *Model) airflow(s *Situation) charge.Airflow {
	cfm, measured := s.running(airflow)
	if is := m.procedures.charge.Measured(cfm, number(s.Facts["tonnage"])); measured && is != charge.NotVerified {
		return is
	}
	have, ok := s.running(split)
	if !ok {
		return charge.NotVerified
	}
	dry, wet := s.told(returnAir, "return-temperature"), s.told(wetBulb, "return-wet-bulb")
	if math.IsNaN(wet) {
		return charge.Unjudged
	}
	switch held, err := m.procedures.air.Split(dry, wet, dry-have); {
	case err != nil:
		return charge.NotVerified
	case held.Place == target.Above:
		return charge.Low
	}
	return charge.Verified
}

// running is a reading of the running machine.
func (s *Situation) running(id knowledge.ReadingID) (float64, bool) {
	it, ok := s.moving(string(id))
	return it.Value, ok
}

// told is a temperature from its reading, else from the fact, else NaN.
func (s *Situation) told(id knowledge.ReadingID, fact string) float64 {
	if it, ok := s.latest(string(id)); ok {
		return it.Value
	}
	return number(s.Facts[fact])
}

func number(text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return math.NaN()
	}
	return v
}
