package prove

import (
	"fmt"
	"slices"
	"strings"

	"proveout/knowledge"
	"proveout/rules"
)

// Side is the side of the machine a fault is on.
type Side string

// The sides. A fault that puts parts of a circuit into modes is electrical; one
// that only moves pressures and temperatures is on the refrigerant and air side.
const (
	Electrical Side = "electrical"
	Process    Side = "refrigerant-and-air"
	Sound      Side = "sound"
)

// SideOf tells a fault's side from what it does. One of the refrigerant that has also
// opened a switch in some degree is still of the refrigerant.
func SideOf(f *knowledge.Fault) Side {
	effects := len(f.Effects) > 0
	modes := len(f.Variants) > 0
	for _, v := range f.Variants {
		modes, effects = modes && len(v.Modes) > 0, effects || len(v.Effects) > 0
	}
	switch {
	case len(f.Modes) > 0 || modes:
		return Electrical
	case effects:
		return Process
	default:
		return Sound
	}
}

// FoundBar is the least share of games with slips in which an electrical fault
// must be found, from the issue that asked for this.
const FoundBar = 0.95

// Options are how to play a whole table.
type Options struct {
	// Faults to play; empty: all the unit has.
	Faults []string
	// Facts told about the unit.
	Facts map[string]string
	// Noise is the probability of a slip; Games how many to play for each truth,
	// default one without noise and twenty with; Seed repeats them.
	Noise float64
	Games int
	Seed  uint64
	// Progress is told after each game how many of how many are done.
	Progress func(done, total int)
}

// Row is one fault in one degree, counted from 1, over all its games.
type Row struct {
	Fault  string `json:"fault"`
	Degree int    `json:"degree"`
	// Severity is mild, moderate or severe, where the knowledge tells.
	Severity string  `json:"severity,omitempty"`
	Side     Side    `json:"side"`
	Share    float64 `json:"share"` // of calls, prior
	Games    int     `json:"games"`
	Found    int     `json:"found"`
	// Undecided games ended without a call; Misled ones in a wrong call whose proof
	// was in the evidence, which a slip put there; Unproven ones in a wrong call
	// without its proof.
	Undecided int `json:"undecided"`
	Misled    int `json:"misled"`
	Unproven  int `json:"unproven"`
	// Called counts the calls, by fault.
	Called map[string]int `json:"called"`
	// Measurements and Minutes a game, mean; Flowchart is the fixed order's minutes
	// to the same end.
	Measurements float64 `json:"measurements"`
	Minutes      float64 `json:"minutes"`
	Flowchart    float64 `json:"flowchart"`
	// Results are the games themselves.
	Results []Result `json:"-"`
}

// Table is what playing a unit's faults gave.
type Table struct {
	Equipment string   `json:"equipment"`
	Noise     float64  `json:"noise"`
	Rows      []Row    `json:"rows"`
	Summaries []Sum    `json:"summaries"`
	Subsets   []Subset `json:"subsets"`
}

// Sum are the figures over some rows.
type Sum struct {
	Side         Side    `json:"side"`
	Games        int     `json:"games"`
	Found        int     `json:"found"`
	Undecided    int     `json:"undecided"`
	Misled       int     `json:"misled"`
	Unproven     int     `json:"unproven"`
	Measurements float64 `json:"measurements"`
	Minutes      float64 `json:"minutes"`
	Flowchart    float64 `json:"flowchart"`
	// Weighted are the mean minutes of a call by how often each fault is met.
	Weighted float64 `json:"weighted"`
}

// Ratio is the engine's minutes over the flowchart's.
func (s Sum) Ratio() float64 { return s.Minutes / s.Flowchart }

// FoundShare is the share of games that ended in the right call.
func (s Sum) FoundShare() float64 { return float64(s.Found) / float64(s.Games) }

// Run plays every fault asked for, and looks how near the choice of tests comes to
// the best. The error names a fault the unit does not have.
func Run(m *rules.Model, base *knowledge.Base, o Options) (*Table, error) {
	t, err := play(m, base, o)
	if err != nil {
		return nil, err
	}
	truths, err := chosen(m, o.Faults)
	if err != nil {
		return nil, err
	}
	t.Subsets = subsets(m, base, truths)
	return t, nil
}

func play(m *rules.Model, base *knowledge.Base, o Options) (*Table, error) {
	truths, err := chosen(m, o.Faults)
	if err != nil {
		return nil, err
	}
	games := o.Games
	if games <= 0 {
		games = 1
		if o.Noise > 0 {
			games = 20
		}
	}
	t := &Table{Equipment: m.Equipment(), Noise: o.Noise}
	done := 0
	for _, x := range truths {
		row := Row{Fault: x.Fault, Degree: x.Degree + 1, Side: SideOf(base.Faults[x.Fault]), Severity: severity(base.Faults[x.Fault], x.Degree), Share: m.Share(x), Called: map[string]int{}}
		row.Flowchart, _ = Flow(m, base, x, o.Facts)
		for g := range games {
			row.count(base, Play(m, base, x, Game{Noise: o.Noise, Seed: o.Seed + uint64(g), Facts: o.Facts}))
			if done++; o.Progress != nil {
				o.Progress(done, games*len(truths))
			}
		}
		row.Measurements /= float64(games)
		row.Minutes /= float64(games)
		t.Rows = append(t.Rows, row)
	}
	for _, side := range []Side{Electrical, Process, Sound} {
		if s := t.sum(side); s.Games > 0 {
			t.Summaries = append(t.Summaries, s)
		}
	}
	return t, nil
}

func chosen(m *rules.Model, faults []string) ([]rules.Truth, error) {
	for _, f := range faults {
		if !slices.Contains(m.Faults(), f) {
			return nil, fmt.Errorf("%s has no fault %q; name one of %s", m.Equipment(), f, strings.Join(m.Faults(), ", "))
		}
	}
	return slices.DeleteFunc(m.Truths(), func(t rules.Truth) bool {
		return len(faults) > 0 && !slices.Contains(faults, t.Fault)
	}), nil
}

func (r *Row) count(base *knowledge.Base, g Result) {
	r.Games++
	r.Measurements += float64(g.Measurements)
	r.Minutes += g.Minutes
	if g.Called != "" {
		r.Called[g.Called]++
	}
	switch {
	case g.Called == "":
		r.Undecided++
	case !g.Proven:
		r.Unproven++
	case g.Found(base):
		r.Found++
	default:
		r.Misled++
	}
	r.Results = append(r.Results, g)
}

// sum adds up the rows of a side.
func (t *Table) sum(side Side) Sum {
	s := Sum{Side: side}
	rows, share := 0.0, 0.0
	for _, r := range t.Rows {
		if r.Side != side {
			continue
		}
		rows++
		share += r.Share
		s.Games += r.Games
		s.Found += r.Found
		s.Undecided += r.Undecided
		s.Misled += r.Misled
		s.Unproven += r.Unproven
		s.Measurements += r.Measurements
		s.Minutes += r.Minutes
		s.Flowchart += r.Flowchart
		s.Weighted += r.Share * r.Minutes
	}
	s.Measurements /= rows
	s.Minutes /= rows
	s.Flowchart /= rows
	s.Weighted /= share
	return s
}

// Failures says in sentences what does not hold: an electrical fault not found, or
// found too seldom when answers slip; a part condemned wrongly or without proof on
// any side. Faults of the refrigerant and air side may stay undecided.
func (t *Table) Failures() []string {
	out := []string{}
	for _, r := range t.Rows {
		name := fmt.Sprintf("%s (degree %d)", r.Fault, r.Degree)
		if r.Unproven > 0 {
			out = append(out, fmt.Sprintf("%s: called %s without its proof", name, strings.Join(r.others(), ", ")))
		}
		if t.Noise > 0 {
			continue
		}
		if r.Misled > 0 {
			out = append(out, fmt.Sprintf("%s: called %s", name, strings.Join(r.others(), ", ")))
		}
		if r.Side == Electrical && r.Undecided > 0 {
			out = append(out, name+": not found")
		}
	}
	for _, s := range t.Summaries {
		if t.Noise > 0 && s.Side == Electrical && s.FoundShare() < FoundBar {
			out = append(out, fmt.Sprintf("found %d of %d games on the electrical side, less than %.0f %%", s.Found, s.Games, 100*FoundBar))
		}
	}
	return out
}

// others are the faults called that are not the row's own.
func (r *Row) others() []string {
	var out []string
	for f := range r.Called {
		if f != r.Fault {
			out = append(out, f)
		}
	}
	slices.Sort(out)
	return out
}
