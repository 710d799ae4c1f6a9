package prove

import (
	"fmt"
	"maps"
	"strconv"

	"proveout/knowledge"
	"proveout/rules"
	"proveout/rules/charge"
)

// Cell is one unit in one weather.
type Cell struct {
	// Facts told: the refrigerant, the metering device, the weather, the target.
	Facts map[string]string `json:"facts"`
	// Table is what playing gave there.
	Table *Table `json:"table"`
}

// Name tells a cell from the others.
func (c Cell) Name() string {
	return fmt.Sprintf("%s, %s, %s °F outside", c.Facts["refrigerant"], c.Facts["metering-device"], c.Facts["outdoor-temperature"])
}

// The grid a matrix is played over: both metering devices, an older and a newer
// refrigerant, and three outdoor temperatures, °F, over a house at 78 °F and 67 °F
// wet bulb.
var (
	devices      = []string{"txv", "fixed-orifice"}
	refrigerants = []string{"R-410A", "R-22"}
	outdoors     = []float64{75, 90, 105}
)

const (
	houseDryBulb = 78.0
	houseWetBulb = 67.0
)

// Matrix plays the faults asked for over the grid. A unit is compiled once for its
// metering device and refrigerant and moved to each weather; o.Facts are told of
// every unit besides. Which tests sort faults best is not looked at.
func Matrix(base *knowledge.Base, equipment string, o Options) ([]Cell, error) {
	checks, err := charge.NewChecks(base)
	if err != nil {
		return nil, fmt.Errorf("reading the charge checks: %w", err)
	}
	var out []Cell
	for _, device := range devices {
		for _, refrigerant := range refrigerants {
			facts := maps.Clone(o.Facts)
			if facts == nil {
				facts = map[string]string{}
			}
			facts["metering-device"], facts["refrigerant"] = device, refrigerant
			facts["return-temperature"], facts["return-wet-bulb"] = figure(houseDryBulb), figure(houseWetBulb)
			m, err := rules.Compile(base, equipment, facts)
			if err != nil {
				return nil, err
			}
			for _, outdoor := range outdoors {
				cell, err := weather(m, base, checks, facts, outdoor, o)
				if err != nil {
					return nil, err
				}
				out = append(out, cell)
			}
		}
	}
	return out, nil
}

func weather(m *rules.Model, base *knowledge.Base, checks *charge.Checks, facts map[string]string, outdoor float64, o Options) (Cell, error) {
	facts = maps.Clone(facts)
	facts["outdoor-temperature"] = figure(outdoor)
	target, err := checks.TargetSuperheat(outdoor, houseWetBulb)
	if err != nil {
		return Cell{}, err
	}
	facts["target-superheat"] = figure(target)
	here, err := m.Under(facts)
	if err != nil {
		return Cell{}, err
	}
	o.Facts = facts
	t, err := play(here, base, o)
	return Cell{Facts: facts, Table: t}, err
}

func figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// MinutesBar is the most of the flowchart's minutes the engine may take, from the
// issue that asked for this.
const MinutesBar = 0.5

// MatrixFailures says in sentences what does not hold over a matrix: in any cell what
// fails its table; a fault of the refrigerant and air side, moderate or severe, that is
// not found; a mild one left undecided that is not declared alike with what it is
// undecided from; more minutes on the side of faults than half the flowchart's.
func MatrixFailures(base *knowledge.Base, cells []Cell) []string {
	out := []string{}
	for _, c := range cells {
		for _, f := range c.Table.Failures() {
			out = append(out, c.Name()+": "+f)
		}
		for i := range c.Table.Rows {
			if why := missed(base, &c.Table.Rows[i]); why != "" {
				out = append(out, c.Name()+": "+why)
			}
		}
		for _, s := range c.Table.Summaries {
			if s.Side != Sound && s.Ratio() > MinutesBar {
				out = append(out, fmt.Sprintf("%s: %.1f minutes on the %s side, %.2f of the flowchart's", c.Name(), s.Minutes, s.Side, s.Ratio()))
			}
		}
	}
	return out
}

// missed says how a fault of the refrigerant and air side was missed, or nothing.
func missed(base *knowledge.Base, r *Row) string {
	if r.Side != Process || r.Undecided == 0 {
		return "" // a wrong call fails the table
	}
	name := fmt.Sprintf("%s (degree %d, %s): not found", r.Fault, r.Degree, r.Severity)
	if r.Severity != knowledge.Mild {
		return name
	}
	alike := base.Faults[r.Fault].AlikeIn(r.Degree - 1)
	for _, g := range r.Results {
		if rival := g.rival(); g.Called == "" && alike[rival] == "" {
			return name + ", and not declared alike with " + rival
		}
	}
	return ""
}

// rival is the likeliest fault left beside the truth.
func (r *Result) rival() string {
	for _, s := range r.Left {
		if s.Fault != r.Truth.Fault {
			return s.Fault
		}
	}
	return ""
}

// severity names a fault's degree, where the knowledge does.
func severity(f *knowledge.Fault, degree int) string {
	if degree < len(f.Variants) {
		return f.Variants[degree].Degree
	}
	return ""
}
