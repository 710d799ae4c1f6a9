package refrigerant

import (
	"fmt"
	"math"

	"proveout/knowledge"
)

// Readings are what is taken on the refrigerant side of a running machine: pressures
// psia, lines °F, NaN where not taken.
type Readings struct {
	Suction, Liquid         float64
	SuctionLine, LiquidLine float64
}

// Doubt is a reason why readings cannot all be right. What is wrong with them is the
// phrase doubt-ID, which Figures fill, and the likely slip, as a question to the person
// who took them, slip-ID.
type Doubt struct {
	// ID names the kind: hoses, probes, cold or hot.
	ID      string
	Figures []string // names and figures in turn
	// Pressures says that the two pressures contradict each other, not a line and
	// its pressure.
	Pressures bool
}

// Margins are how far readings may contradict each other before they are questioned.
type Margins struct {
	// Line is how far a line may lie beyond saturation, °F.
	Line float64
	// Gauges is how far suction may lie above liquid pressure, psi.
	Gauges float64
}

// NewMargins takes the margins from the knowledge's limits.
func NewMargins(base *knowledge.Base) (Margins, error) {
	var m Margins
	return m, base.Figures(map[string]*float64{"line-off-saturation": &m.Line, "gauges-apart-least": &m.Gauges})
}

// Doubts questions readings that cannot be right together on a running machine: none
// of them may be used until the person has answered. What was not taken, or lies
// outside the table, raises no doubt here.
func (t *Table) Doubts(r Readings, m Margins) []Doubt {
	if r.Suction > r.Liquid+m.Gauges {
		return []Doubt{{
			ID:        "hoses",
			Figures:   []string{"suction", fmt.Sprintf("%.0f psig", Gauge(r.Suction, StandardAtmosphere)), "liquid", fmt.Sprintf("%.0f psig", Gauge(r.Liquid, StandardAtmosphere))},
			Pressures: true,
		}}
	}
	if t.probesSwapped(r, m) {
		return []Doubt{{
			ID:      "probes",
			Figures: []string{"suction", fmt.Sprintf("%.1f °F", r.SuctionLine), "liquid", fmt.Sprintf("%.1f °F", r.LiquidLine)},
		}}
	}
	var out []Doubt
	cold, hot := t.beyond(r, m)
	if cold {
		out = append(out, Doubt{ID: "cold", Figures: []string{"line", fmt.Sprintf("%.1f °F", r.SuctionLine), "refrigerant", t.name}})
	}
	if hot {
		out = append(out, Doubt{ID: "hot", Figures: []string{"line", fmt.Sprintf("%.1f °F", r.LiquidLine), "refrigerant", t.name}})
	}
	return out
}

// probesSwapped says whether the lines lie the wrong way round and would fit the
// pressures the other way. In cool weather a sound machine can show it too, which is
// why it is a question.
func (t *Table) probesSwapped(r Readings, m Margins) bool {
	if !(r.SuctionLine > r.LiquidLine+m.Line) {
		return false
	}
	r.SuctionLine, r.LiquidLine = r.LiquidLine, r.SuctionLine
	cold, hot := t.beyond(r, m)
	return !cold && !hot
}

// beyond says whether a line lies beyond what its pressure allows.
func (t *Table) beyond(r Readings, m Margins) (cold, hot bool) {
	if superheat, err := t.Superheat(r.Suction, r.SuctionLine); err == nil {
		cold = superheat < -m.Line
	}
	if subcooling, err := t.Subcooling(r.Liquid, r.LiquidLine); err == nil {
		hot = subcooling < -m.Line
	}
	return cold, hot
}

// NotTaken are Readings of which none was taken.
func NotTaken() Readings {
	none := math.NaN()
	return Readings{none, none, none, none}
}
