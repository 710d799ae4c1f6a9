package machine

import (
	"math"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

// saturationLine says which line turns a variable's temperature into a pressure.
type saturationLine int

const (
	noLine saturationLine = iota
	dewLine
	bubbleLine
)

// Process is a process variable in one phase. It keeps what it is made of, so that
// it can be worked out again for another outdoor air or refrigerant.
type Process struct {
	// Value and Spread, how far sound machines lie around it, in the variable's
	// unit under the machine's own conditions.
	Value, Spread float64

	base   knowledge.Figure
	add    float64
	set    *float64
	spread float64 // in °F on a saturation line, else in the unit
	line   saturationLine
}

// Conditions are what a process variable depends on beside the machine itself.
type Conditions struct {
	base  *knowledge.Base
	facts map[string]string
	sat   *refrigerant.Table // nil without a refrigerant
}

// Under makes conditions of facts; what they do not tell takes its default.
func Under(base *knowledge.Base, facts map[string]string) (*Conditions, error) {
	c := &Conditions{base: base, facts: facts}
	name := facts["refrigerant"]
	if name == "" && base.Facts["refrigerant"] != nil {
		name = base.Facts["refrigerant"].Default
	}
	if r, ok := base.Refrigerants[name]; ok {
		t, err := refrigerant.New(r)
		if err != nil {
			return nil, err
		}
		c.sat = t
	}
	return c, nil
}

func processOf(c knowledge.ProcessCase) Process {
	p := Process{spread: c.Spread}
	switch {
	case c.Saturation != nil:
		p.base, p.line = *c.Saturation, dewLine
	case c.Bubble != nil:
		p.base, p.line = *c.Bubble, bubbleLine
	case c.Value != nil:
		p.base = *c.Value
	}
	return p
}

// moved is a variable under one effect more.
func (p Process) moved(e *boundEffect) Process {
	if e.add != nil {
		p.add += *e.add
	}
	if e.set != nil {
		p.set = e.set
	}
	if e.spread > 0 {
		p.spread = e.spread
	}
	return p
}

// Under works the variable out under conditions, in its unit.
func (p Process) Under(c *Conditions) (value, spread float64) {
	if p.set != nil {
		return *p.set, p.spread
	}
	v, _ := c.base.Resolve(p.base, c.facts)
	v += p.add
	switch p.line {
	case dewLine:
		return c.sat.Dew(v), (c.sat.Dew(v+p.spread) - c.sat.Dew(v-p.spread)) / 2
	case bubbleLine:
		return c.sat.Bubble(v), (c.sat.Bubble(v+p.spread) - c.sat.Bubble(v-p.spread)) / 2
	default:
		return v, p.spread
	}
}

// saturation is the temperature, °F, a pressure of the process stands for; NaN where
// it has none.
func (p Process) saturation(c *Conditions) float64 {
	switch {
	case p.line == noLine || c.sat == nil:
		return math.NaN()
	case p.set == nil:
		v, _ := c.base.Resolve(p.base, c.facts)
		return v + p.add
	}
	return c.saturation(p.line, *p.set)
}

// Saturation is the temperature, °F, a measured pressure (psig at sea level) stands
// for: on the bubble line of the liquid side, else on the dew line. ok is false
// without a refrigerant or where the pressure lies outside its table.
func (c *Conditions) Saturation(id knowledge.ReadingID, psig float64) (f float64, ok bool) {
	if c.sat == nil || id.Quantity() != "pressure" {
		return 0, false
	}
	line := dewLine
	if id.Point() == "liquid" {
		line = bubbleLine
	}
	f = c.saturation(line, psig)
	return f, !math.IsNaN(f)
}

// Pressure is what a saturation temperature, °F, reads on the gauge (psig at sea
// level), on the line Saturation takes; without a refrigerant it is NaN.
func (c *Conditions) Pressure(id knowledge.ReadingID, f float64) float64 {
	switch {
	case c.sat == nil:
		return math.NaN()
	case id.Point() == "liquid":
		return c.sat.Bubble(f)
	}
	return c.sat.Dew(f)
}

func (c *Conditions) saturation(line saturationLine, psig float64) float64 {
	of := c.sat.DewTemperature
	if line == bubbleLine {
		of = c.sat.BubbleTemperature
	}
	f, err := of(psig + refrigerant.StandardAtmosphere)
	if err != nil {
		return math.NaN()
	}
	return f
}

// Process is the variable a process reading shows in a phase; ok is false for a
// reading of the circuit.
func (x *Meter) Process(p *Phase) (v Process, ok bool) {
	if x.variable < 0 {
		return Process{}, false
	}
	return p.process[x.variable], true
}

// The ways one reading is made of two.
const (
	bySuperheat  = "superheat"
	bySubcooling = "subcooling"
	byDifference = "difference"
)

// Sum makes one reading of two: the superheat of a suction-line temperature (°F)
// and a suction pressure (psig at sea level), the subcooling of a liquid pressure
// and a liquid-line temperature, or a difference. ok is false where the pressure
// lies outside the refrigerant's table.
func (c *Conditions) Sum(by string, a, b float64) (v float64, ok bool) {
	var err error
	switch {
	case by == byDifference:
		return a - b, true
	case c.sat == nil:
		return 0, false
	case by == bySuperheat:
		v, err = c.sat.Superheat(b+refrigerant.StandardAtmosphere, a)
	case by == bySubcooling:
		v, err = c.sat.Subcooling(a+refrigerant.StandardAtmosphere, b)
	default:
		return 0, false
	}
	return v, err == nil
}

// Doubts questions pressures (psig at sea level) and line temperatures (°F) of a
// running machine that cannot be right together; NaN is a reading not taken.
func (c *Conditions) Doubts(suction, liquid, suctionLine, liquidLine float64, m refrigerant.Margins) []refrigerant.Doubt {
	if c.sat == nil {
		return nil
	}
	return c.sat.Doubts(refrigerant.Readings{
		Suction: suction + refrigerant.StandardAtmosphere, Liquid: liquid + refrigerant.StandardAtmosphere,
		SuctionLine: suctionLine, LiquidLine: liquidLine,
	}, m)
}
