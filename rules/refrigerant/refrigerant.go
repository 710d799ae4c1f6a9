package refrigerant

import (
	"fmt"
	"math"

	"proveout/knowledge"
)

// StandardAtmosphere is sea-level pressure, psia, as the tables in knowledge take
// it: 0 psig there.
const StandardAtmosphere = 14.696

// rankine is 0 °F above absolute zero, °F.
const rankine = 459.67

// rounding lets a pressure found at the table's end be looked up again, ln psia.
const rounding = 1e-12

// Table is one refrigerant's saturation lines. It is never changed after New.
type Table struct {
	name        string
	temp        []float64 // °F, rising
	inverse     []float64 // 1/T of each row, 1/°R
	rows        finder    // by temperature
	bubble, dew line
}

// line is one saturation line over the rows of its table.
type line struct {
	side  string
	lnp   []float64 // ln psia of each row
	slope []float64 // ln psia for 1/°R, from each row to the next
	rows  finder    // by ln psia
}

// New reads a table; its rows must rise in temperature and pressure.
func New(r *knowledge.Refrigerant) (*Table, error) {
	t := &Table{name: r.Name, bubble: line{side: "bubble"}, dew: line{side: "dew"}}
	for i, row := range r.Table {
		t.temp = append(t.temp, row[0])
		t.inverse = append(t.inverse, 1/(row[0]+rankine))
		t.bubble.lnp = append(t.bubble.lnp, math.Log(row[1]+StandardAtmosphere))
		t.dew.lnp = append(t.dew.lnp, math.Log(row[2]+StandardAtmosphere))
		if !finite(row[0]) || row[0] <= -rankine || !finite(t.bubble.lnp[i]) || !finite(t.dew.lnp[i]) {
			return nil, fmt.Errorf("reading %s: row %d holds no temperature or no pressure above a vacuum; give °F and psig", r.Name, i+1)
		}
		if i > 0 && (t.temp[i] <= t.temp[i-1] || t.bubble.lnp[i] <= t.bubble.lnp[i-1] || t.dew.lnp[i] <= t.dew.lnp[i-1]) {
			return nil, fmt.Errorf("reading %s: row %d does not rise; sort the rows by temperature", r.Name, i+1)
		}
	}
	if len(t.temp) < 2 {
		return nil, fmt.Errorf("reading %s: %d rows; give at least two", r.Name, len(t.temp))
	}
	t.rows = newFinder(t.temp)
	t.bubble.prepare(t.inverse)
	t.dew.prepare(t.inverse)
	return t, nil
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

func (l *line) prepare(inverse []float64) {
	l.rows = newFinder(l.lnp)
	for i := range len(l.lnp) - 1 {
		l.slope = append(l.slope, (l.lnp[i+1]-l.lnp[i])/(inverse[i+1]-inverse[i]))
	}
}

// Span is the range of temperature the table holds, °F.
func (t *Table) Span() (low, high float64) { return t.temp[0], t.temp[len(t.temp)-1] }

// DewTemperature is where vapour at a pressure (psia) begins to condense, °F. Outside
// the table it is a RangeError.
func (t *Table) DewTemperature(psia float64) (float64, error) { return t.temperature(&t.dew, psia) }

// BubbleTemperature is where liquid at a pressure (psia) begins to boil, °F. Outside
// the table it is a RangeError.
func (t *Table) BubbleTemperature(psia float64) (float64, error) {
	return t.temperature(&t.bubble, psia)
}

// DewPressure is the pressure, psia, of vapour that begins to condense at a
// temperature (°F). Outside the table it is a RangeError.
func (t *Table) DewPressure(f float64) (float64, error) { return t.pressure(&t.dew, f) }

// BubblePressure is the pressure, psia, of liquid that begins to boil at a
// temperature (°F). Outside the table it is a RangeError.
func (t *Table) BubblePressure(f float64) (float64, error) { return t.pressure(&t.bubble, f) }

// Superheat is how far the suction line (°F) is above the dew temperature at the
// suction pressure (psia), °F. Below 0 liquid is coming back, or a reading is wrong.
func (t *Table) Superheat(psia, suctionLine float64) (float64, error) {
	dew, err := t.DewTemperature(psia)
	return suctionLine - dew, err
}

// Subcooling is how far the liquid line (°F) is below the bubble temperature at the
// liquid pressure (psia), °F. Below 0 the line holds vapour, or a reading is wrong.
func (t *Table) Subcooling(psia, liquidLine float64) (float64, error) {
	bubble, err := t.BubbleTemperature(psia)
	return bubble - liquidLine, err
}

// Dew is the dew pressure (psig at sea level) at a temperature (°F), held at the
// table's ends.
func (t *Table) Dew(f float64) float64 { return t.held(&t.dew, f) }

// Bubble is the bubble pressure (psig at sea level) at a temperature (°F), held
// at the table's ends.
func (t *Table) Bubble(f float64) float64 { return t.held(&t.bubble, f) }

func (t *Table) held(l *line, f float64) float64 {
	low, high := t.Span()
	return math.Exp(t.lnp(l, min(max(f, low), high))) - StandardAtmosphere
}

func (t *Table) pressure(l *line, f float64) (float64, error) {
	low, high := t.Span()
	if !(f >= low && f <= high) {
		return 0, t.outside(l, Temperature, f)
	}
	return math.Exp(t.lnp(l, f)), nil
}

// lnp is ln psia at a temperature inside the table.
func (t *Table) lnp(l *line, f float64) float64 {
	i := t.rows.find(f)
	return l.lnp[i] + (1/(f+rankine)-t.inverse[i])*l.slope[i]
}

func (t *Table) temperature(l *line, psia float64) (float64, error) {
	lnp, last := math.Log(psia), len(l.lnp)-1
	if !(lnp >= l.lnp[0]-rounding && lnp <= l.lnp[last]+rounding) {
		return 0, t.outside(l, Pressure, psia)
	}
	i := l.rows.find(lnp)
	return 1/(t.inverse[i]+(lnp-l.lnp[i])/l.slope[i]) - rankine, nil
}
