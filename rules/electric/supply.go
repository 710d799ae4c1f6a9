package electric

import (
	"math"

	"proveout/rules/target"
)

// Balance says how evenly a supply's voltages lie.
type Balance string

// The balances of a supply.
const (
	Even      Balance = "even"
	Uneven    Balance = "uneven"
	Excessive Balance = "too uneven to run"
	LostLeg   Balance = "a leg is lost"
)

// Imbalance is how unevenly three phases lie.
type Imbalance struct {
	Mean float64 // V
	// Deviation is the largest from the mean, V, and Share that over the mean, %.
	Deviation, Share float64
	// Worst is the place of the voltage it is at, from 0.
	Worst   int
	Balance Balance
}

// Imbalance is 100 × the largest deviation from the mean over the mean, of the three
// line-to-line voltages of a three-phase supply (NEMA MG 1). A house is single-phase:
// its legs are compared by Legs.
func (c *Checks) Imbalance(ab, bc, ca float64) (Imbalance, error) {
	volts := [3]float64{ab, bc, ca}
	for _, v := range volts {
		if !(v >= 0) {
			return Imbalance{}, &RangeError{"voltage", v, 0, "V", "give the three line-to-line voltages"}
		}
	}
	i := Imbalance{Mean: (ab + bc + ca) / 3}
	if err := above("mean voltage", i.Mean, "V", "measure with the power on"); err != nil {
		return i, err
	}
	for n, v := range volts {
		if off := math.Abs(v - i.Mean); off > i.Deviation {
			i.Deviation, i.Worst = off, n
		}
	}
	i.Share = 100 * i.Deviation / i.Mean
	switch {
	case i.Share > c.imbalanceStop:
		i.Balance = Excessive
	case i.Share > c.imbalanceKeep:
		i.Balance = Uneven
	default:
		i.Balance = Even
	}
	return i, nil
}

// Legs are the two legs of a single-phase supply, each to ground.
type Legs struct {
	// Share is their difference over their mean, %.
	Share   float64
	Balance Balance
}

// Legs compares L1 and L2 to ground (V). With one fuse blown and the contactor in,
// both can read alike through the winding, so L1 to L2 is measured too.
func (c *Checks) Legs(l1, l2 float64) (Legs, error) {
	if !(l1 >= 0 && l2 >= 0) {
		return Legs{}, &RangeError{"voltage", min(l1, l2), 0, "V", "give each leg to ground"}
	}
	mean := (l1 + l2) / 2
	if err := above("mean voltage", mean, "V", "measure with the power on"); err != nil {
		return Legs{}, err
	}
	l := Legs{100 * math.Abs(l1-l2) / mean, Even}
	switch {
	case min(l1, l2) < c.legLost:
		l.Balance = LostLeg
	case l.Share > c.legsApart:
		l.Balance = Uneven
	}
	return l, nil
}

// Supply is the band a supply may lie in, V: around the plate's rated voltage, or with
// 0 that of 208/230 V equipment.
func (c *Checks) Supply(rated float64) (target.Band, error) {
	if rated == 0 {
		return target.Band{Low: c.supplyLeast, High: c.supplyMost}, nil
	}
	if err := above("rated voltage", rated, "V", "read it on the plate"); err != nil {
		return target.Band{}, err
	}
	return target.Share(rated, c.motorBand, c.motorBand), nil
}

// Drop is a voltage lost on the way or while starting.
type Drop struct {
	Volts, Share float64 // V; % of the voltage before
	// Much says that it is more than a start may take: supply, connections, or a
	// compressor that starts hard.
	Much bool
}

// Drop compares the voltage before (V: standing, or at the source) with the voltage
// then (V: while starting, or at the load).
func (c *Checks) Drop(before, then float64) (Drop, error) {
	if err := above("voltage before", before, "V", "measure with the power on"); err != nil {
		return Drop{}, err
	}
	if !(then >= 0) {
		return Drop{}, &RangeError{"voltage then", then, 0, "V", "measure at the same two points"}
	}
	d := Drop{Volts: before - then, Share: 100 * (before - then) / before}
	d.Much = d.Share > c.sagMost
	return d, nil
}

// DropAlong is the voltage lost in a run of wire, V, by the current through it (A) and
// its resistance there and back (ohm): I · R.
func DropAlong(amps, ohm float64) float64 { return amps * ohm }

// Load is how a transformer is loaded.
type Load struct {
	Full  float64 // what it can give at its voltage, A: VA / V
	Drawn float64 // what is drawn, VA
	Share float64 // of its rating, %
	Over  bool
}

// TransformerLoad holds what is drawn from a transformer's secondary (A, 0 to ask for
// its rated current only) at its voltage (V) against its rating (VA).
func TransformerLoad(rating, volts, amps float64) (Load, error) {
	if err := above("rating", rating, "VA", "read it on the transformer"); err != nil {
		return Load{}, err
	}
	if err := above("voltage", volts, "V", "give the secondary's, 24 V as rated"); err != nil {
		return Load{}, err
	}
	if !(amps >= 0) {
		return Load{}, &RangeError{"current", amps, 0, "A", "clamp one wire of the secondary"}
	}
	l := Load{Full: rating / volts, Drawn: amps * volts}
	l.Share = 100 * l.Drawn / rating
	l.Over = l.Share > 100+1e-9
	return l, nil
}

// Pull is what a compressor's amps say beside its plate.
type Pull string

// The pulls of a compressor. Locked: it does not turn, or starts hard; the capacitor
// is proved before it is condemned.
const (
	Idle   Pull = "not drawing"
	Normal Pull = "within rated load"
	Heavy  Pull = "over rated load"
	Locked Pull = "locked rotor"
)

// Amps is a current beside the plate.
type Amps struct {
	OfRated, OfLocked float64 // %; 0 where the plate's figure is not known
	Pull              Pull
}

// Amps holds a compressor's current (A) against its rated-load and locked-rotor
// amps (A); either may be 0 when it is not known, not both.
func (c *Checks) Amps(amps, rated, locked float64) (Amps, error) {
	if !(amps >= 0) {
		return Amps{}, &RangeError{"current", amps, 0, "A", "clamp one wire"}
	}
	if !(rated > 0 || locked > 0) {
		return Amps{}, &RangeError{"rated-load amps", rated, 0, "A", "read RLA or LRA on the plate"}
	}
	a := Amps{Pull: Normal}
	if rated > 0 {
		a.OfRated = 100 * amps / rated
	}
	if locked > 0 {
		a.OfLocked = 100 * amps / locked
	}
	switch {
	case amps == 0:
		a.Pull = Idle
	case a.OfLocked >= c.lockedShare:
		a.Pull = Locked
	case a.OfRated > 100:
		a.Pull = Heavy
	}
	return a, nil
}
