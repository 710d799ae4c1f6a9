// Package refrigerant turns saturation temperature into pressure and back, from
// the published tables in knowledge.
package refrigerant

import (
	"fmt"
	"math"
	"sort"

	"proveout/knowledge"
)

// standardAtmosphere is sea-level pressure, psi (exactly 101 325 Pa).
const standardAtmosphere = 14.696

// Table is one refrigerant's saturation line.
type Table struct {
	temp, bubble, dew []float64 // °F; ln psia
}

// New reads a table; rows must rise in temperature and pressure.
func New(r *knowledge.Refrigerant) (*Table, error) {
	t := &Table{}
	for i, row := range r.Table {
		bubble, dew := math.Log(row[1]+standardAtmosphere), math.Log(row[2]+standardAtmosphere)
		if i > 0 && (row[0] <= t.temp[i-1] || bubble <= t.bubble[i-1] || dew <= t.dew[i-1]) {
			return nil, fmt.Errorf("reading %s: row %d does not rise; sort the rows by temperature", r.Name, i+1)
		}
		t.temp, t.bubble, t.dew = append(t.temp, row[0]), append(t.bubble, bubble), append(t.dew, dew)
	}
	if len(t.temp) < 2 {
		return nil, fmt.Errorf("reading %s: %d rows; give at least two", r.Name, len(t.temp))
	}
	return t, nil
}

// Dew is the dew pressure (psig at sea level) at a temperature (°F), held at the
// table's ends.
func (t *Table) Dew(f float64) float64 { return t.pressure(t.dew, f) }

// Bubble is the bubble pressure (psig at sea level) at a temperature (°F), held
// at the table's ends.
func (t *Table) Bubble(f float64) float64 { return t.pressure(t.bubble, f) }

// pressure interpolates ln p in 1/T between rows, which is straight to within
// hundredths of a degree over 5 °F (Clausius–Clapeyron).
func (t *Table) pressure(lnp []float64, f float64) float64 {
	n := len(t.temp)
	f = min(max(f, t.temp[0]), t.temp[n-1])
	i := min(max(sort.SearchFloat64s(t.temp, f), 1), n-1)
	inv := func(x float64) float64 { return 1 / (x + 459.67) }
	u := (inv(f) - inv(t.temp[i-1])) / (inv(t.temp[i]) - inv(t.temp[i-1]))
	return math.Exp(lnp[i-1]+u*(lnp[i]-lnp[i-1])) - standardAtmosphere
}
