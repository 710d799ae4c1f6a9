package ladder

import (
	"slices"

	"proveout/knowledge"
)

// symbol is how a part is drawn.
type symbol string

const (
	box         symbol = "box" // a load nothing more is known of
	wire        symbol = "wire"
	leak        symbol = "insulation"
	fuse        symbol = "fuse"
	contact     symbol = "contact"
	contactNC   symbol = "contact-normally-closed"
	thermostat  symbol = "thermostat"
	plain       symbol = "switch"
	pressure    symbol = "pressure-switch"
	temperature symbol = "temperature-switch"
	level       symbol = "float-switch"
	timed       symbol = "timer"
	breaker     symbol = "breaker"
	overload    symbol = "overload"
	disconnect  symbol = "disconnect"
	coil        symbol = "coil"
	coiled      symbol = "winding"
	capacitor   symbol = "capacitor"
	source      symbol = "source"
	transformer symbol = "transformer"
	motor       symbol = "motor"
)

// symbolOf reads the symbol off what the netlist says of a part: its kind, what moves
// it, and the symbol it names where that does not tell.
func symbolOf(kind *knowledge.Kind, c *knowledge.Component) symbol {
	if c.Symbol != "" {
		return symbol(c.Symbol)
	}
	if kind != nil {
		switch kind.Element {
		case "rotor":
			return motor
		case "source":
			return source
		case "transformer":
			return transformer
		}
	}
	switch c.Kind {
	case "wire", "bond":
		return wire
	case "insulation":
		return leak
	case "fuse":
		return fuse
	case "winding":
		return coiled
	case "capacitor":
		return capacitor
	}
	switch {
	case c.Kind == "coil" || c.PullIn > 0:
		return coil
	case c.Trips != nil:
		return tripping(c)
	case has(c.Closed, func(a knowledge.Atom) bool { return a.Dropped != "" }):
		return contactNC
	case c.Kind == "contact" && has(c.Closed, func(a knowledge.Atom) bool { return a.Energised != "" }):
		return contact
	case c.Kind == "contact" && c.Place == "thermostat":
		return thermostat
	case c.Kind == "contact":
		return contact
	case c.Kind == "switch" || c.Closed != nil:
		return plain
	}
	return box
}

// tripping is the symbol of a switch by what opens it.
func tripping(c *knowledge.Component) symbol {
	about := func(quantity string) bool {
		return has(c.Trips, func(a knowledge.Atom) bool {
			return knowledge.ReadingID(a.Process).Quantity() == quantity
		})
	}
	switch {
	case about("pressure"):
		return pressure
	case about("temperature"):
		return temperature
	case c.Reset == "cooling":
		return overload
	case c.Reset == "manual":
		return breaker
	}
	return plain
}

func has(c knowledge.Condition, holds func(knowledge.Atom) bool) bool {
	return slices.ContainsFunc(c, func(a knowledge.Atom) bool { return holds(a) || has(a.Any, holds) })
}

// opens says whether a part can stand open.
func (s symbol) opens() bool {
	switch s {
	case fuse, contact, contactNC, thermostat, plain, pressure, temperature, level, timed, breaker, overload, disconnect:
		return true
	default:
		return false
	}
}
