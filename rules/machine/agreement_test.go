package machine_test

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"proveout/knowledge"
)

// answer is what ngspice found for one scene.
type answer struct {
	*scene

	vectors map[string]complex128
	prefix  string
}

// volts is a node's phasor to ground.
func (a *answer) volts(node string) (complex128, error) {
	if node == "ground" {
		return 0, nil
	}
	name := (&deck{prefix: a.prefix}).node(node)
	v, ok := a.vectors[name]
	if !ok {
		v, ok = a.vectors["v("+name+")"]
	}
	if !ok {
		return 0, fmt.Errorf("ngspice gives no voltage at %s", node)
	}
	return v, nil
}

func (a *answer) between(x, y string) float64 {
	vx, errx := a.volts(x)
	vy, erry := a.volts(y)
	if errx != nil || erry != nil {
		return math.NaN()
	}
	return cmplx.Abs(vx - vy)
}

// amps is the phasor into a part at its first node; a part that was left out as
// open carries nothing.
func (a *answer) amps(id string) complex128 {
	return a.vectors["i(v"+(&deck{prefix: a.prefix}).node(id)+")"]
}

// verdict is whether a condition holds: it may rest on what no circuit shows.
type verdict int

const (
	no verdict = iota
	unknown
	yes
)

// holds judges a condition by ngspice's own voltages and currents.
func (a *answer) holds(c knowledge.Condition) verdict {
	out := yes
	for _, atom := range c {
		out = min(out, a.atom(atom))
	}
	return out
}

func (a *answer) atom(x knowledge.Atom) verdict {
	is := func(b bool) verdict {
		if b {
			return yes
		}
		return no
	}
	switch {
	case x.Any != nil:
		out := no
		for _, atom := range x.Any {
			out = max(out, a.atom(atom))
		}
		return out
	case x.State != nil:
		return is(slices.Contains(x.State, a.phase.State()))
	case x.Energised != "":
		return is(a.phase.On(x.Energised))
	case x.Dropped != "":
		return is(!a.phase.On(x.Dropped))
	case x.Running != "":
		return is(a.phase.On(x.Running))
	case x.Stopped != "":
		return is(!a.phase.On(x.Stopped))
	case x.Volts != nil:
		return is(a.within(x, a.between(x.Volts[0], x.Volts[1])))
	case x.Amps != "":
		return is(a.within(x, cmplx.Abs(a.amps(x.Amps))))
	case x.Fact != nil:
		return is(a.fitted(&knowledge.Component{Needs: x.Fact}))
	}
	return unknown
}

func (a *answer) within(x knowledge.Atom, v float64) bool {
	return (x.AtLeast == nil || v >= a.figure(*x.AtLeast)) && (x.AtMost == nil || v <= a.figure(*x.AtMost))
}

// disagreement says where a part's place in the phase contradicts what ngspice's
// voltages would make it do; empty where it agrees.
func (a *answer) disagreement(c *knowledge.Component) string {
	switch {
	case !a.fitted(c):
		return ""
	case c.PullIn > 0:
		return a.coil(c)
	case a.base.Kinds[c.Kind].Element == "rotor":
		return a.rotor(c)
	case a.base.Kinds[c.Kind].Element == "branch":
		return a.conduction(c)
	}
	return ""
}

// coil: pulled in by the volts its good winding would see for the current it
// carries, so that a broken winding pulls nothing and a shorted one little.
func (a *answer) coil(c *knowledge.Component) string {
	good := a.values(c, "", false)
	pull := min(a.between(c.Nodes[0], c.Nodes[1]), cmplx.Abs(a.amps(c.ID))*math.Hypot(good["ac-ohms"], good["reactance"]))
	on := a.phase.On(c.ID)
	switch {
	case on && pull < c.DropOut:
		return fmt.Sprintf("coil %s is in at %.2f V", c.ID, pull)
	case !on && pull >= c.PullIn:
		return fmt.Sprintf("coil %s is out at %.2f V", c.ID, pull)
	}
	return ""
}

func (a *answer) rotor(c *knowledge.Component) string {
	on, stuck := a.phase.On(c.ID), a.base.Kinds[c.Kind].Modes[a.modes[c.ID]].Stuck == "stopped"
	switch {
	case on && stuck:
		return fmt.Sprintf("rotor %s turns though it is stuck", c.ID)
	case on && a.holds(c.Keeps) == no:
		return fmt.Sprintf("rotor %s turns on less than it needs", c.ID)
	case !on && !stuck && a.holds(c.Starts) == yes:
		return fmt.Sprintf("rotor %s stands though it has what it needs to start", c.ID)
	}
	return ""
}

func (a *answer) conduction(c *knowledge.Component) string {
	shut := a.phase.Conducts(c.ID)
	switch a.base.Kinds[c.Kind].Modes[a.modes[c.ID]].Stuck {
	case "open":
		return phrase(shut, c.ID+" conducts though it is stuck open")
	case "closed":
		return phrase(!shut, c.ID+" is open though it is stuck closed")
	}
	closed := a.holds(c.Closed)
	switch {
	case shut && closed == no:
		return c.ID + " conducts though its condition does not hold"
	case !shut && closed == yes && c.Trips == nil:
		return c.ID + " is open though its condition holds"
	case shut && c.Trips != nil && !c.Slow && a.holds(c.Trips) == yes:
		return c.ID + " has not tripped though its condition holds"
	}
	return ""
}

func phrase(bad bool, text string) string {
	if bad {
		return text
	}
	return ""
}
