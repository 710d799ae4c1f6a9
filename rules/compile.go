package rules

import (
	"encoding/binary"
	"fmt"
	"maps"
	"math"
	"slices"

	"proveout/knowledge"
	"proveout/rules/machine"
	"proveout/rules/refrigerant"
)

// Model is one unit compiled: its hypotheses and what each predicts. It never
// changes after Compile and may be shared between goroutines.
type Model struct {
	base      *knowledge.Base
	facts     map[string]string // as told
	uses      map[string]bool   // facts it depends on
	equipment string
	faults    []string
	place     map[string]int // fault id → place in faults
	hyps      []hypothesis
	logPrior  []float64
	tests     []*test
	byKey     map[string]*test
	change    map[string]map[string]float64
	tune      tuning
	blends    map[string][]pairOfDegrees // by state
	sums      []knowledge.ReadingID      // readings that can be made of others
	here      *machine.Conditions
	targets   targets
	margins   refrigerant.Margins
	procedures
	widen float64 // of a pressure's spread while the refrigerant is not told
}

// tuning are the engine's own figures, from knowledge.
type tuning struct {
	slip, falsePresence, bar, unsureBar, hangsBelow, hangsLive, sureBar, repeatWorth, pairShare, askMinutes, ruledOut, moveMinutes, lineMinutes, pressureMinutes, roundedPercent, rangeShare float64
}

// test is one reading or observation in one state of the machine.
type test struct {
	key        string
	reading    knowledge.ReadingID
	subject    string
	state      string
	seen       []string // an observation's states
	scale      scale
	places     []float64 // a reading's tellable answers on its scale
	forecasts  []*forecast
	of         []uint16 // hypothesis → forecast
	minutes    float64
	where      string
	hazard     string
	instrument string
	askable    bool
	process    []processTerm // by hypothesis; nil for what no weather moves
}

// Compile builds the model of an equipment for the facts told about it.
func Compile(base *knowledge.Base, equipment string, facts map[string]string) (*Model, error) {
	unit, err := machine.New(base, equipment, facts)
	if err != nil {
		return nil, err
	}
	m := &Model{base: base, facts: maps.Clone(facts), equipment: equipment, place: map[string]int{}, byKey: map[string]*test{}, change: map[string]map[string]float64{}, blends: map[string][]pairOfDegrees{}}
	m.tune = m.tuning()
	m.sums = sumsOf(base)
	if m.targets, err = targetsOf(base); err != nil {
		return nil, err
	}
	if m.procedures, err = proceduresOf(base); err != nil {
		return nil, err
	}
	if m.margins, err = refrigerant.NewMargins(base); err != nil {
		return nil, err
	}
	if m.here, err = machine.Under(base, facts); err != nil {
		return nil, err
	}
	for _, e := range base.Lineage(equipment) {
		maps.Copy(m.change, e.ChangeMinutes)
	}
	m.faults = possible(base, unit)
	for i, f := range m.faults {
		m.place[f] = i
	}
	if m.hyps, err = hypotheses(base, unit, m.faults, m.tune.pairShare); err != nil {
		return nil, fmt.Errorf("compiling %s: %w", equipment, err)
	}
	for i := range m.hyps {
		m.logPrior = append(m.logPrior, math.Log(m.hyps[i].prior))
	}
	if err := m.addReadings(unit); err != nil {
		return nil, fmt.Errorf("compiling %s: %w", equipment, err)
	}
	if err := m.addObservations(unit); err != nil {
		return nil, fmt.Errorf("compiling %s: %w", equipment, err)
	}
	slices.SortFunc(m.tests, func(a, b *test) int {
		if a.key < b.key {
			return -1
		}
		return 1
	})
	m.uses = unit.Uses()
	for i := range m.hyps {
		m.hyps[i].behaviour = nil // the table holds all of it
	}
	return m, nil
}

func (m *Model) tuning() tuning {
	get := func(name string) float64 {
		v, _ := m.base.Resolve(knowledge.Figure{Name: name, Times: 1}, m.facts)
		return v
	}
	return tuning{
		slip: get("slip"), falsePresence: get("false-presence"), bar: get("call-bar"), unsureBar: get("unsure-bar"), hangsBelow: get("hangs-below"), hangsLive: get("hangs-live"), sureBar: get("sure-bar"), repeatWorth: get("repeat-worth"), pairShare: get("pair-share"), askMinutes: get("ask-minutes"), ruledOut: get("ruled-out-below"), moveMinutes: get("move-minutes"),
		lineMinutes: get("line-hazard-minutes"), pressureMinutes: get("pressure-hazard-minutes"),
		roundedPercent: get("rounded-percent"), rangeShare: get("range-share"),
	}
}

// Faults lists the unit's possible faults by id.
func (m *Model) Faults() []string { return m.faults }

// Uses are the facts the model depends on; others told or not, it is the same.
func (m *Model) Uses() map[string]bool { return m.uses }

// Equipment is the id the model was compiled for.
func (m *Model) Equipment() string { return m.equipment }

// liveStates are the states a live reading is predicted in, whichever of them it
// is asked in.
var liveStates = []string{knowledge.Calling, knowledge.Standing}

func (m *Model) addReadings(unit *machine.Machine) error {
	spreads := map[string]knowledge.Spread{}
	for _, e := range m.base.Lineage(m.equipment) {
		maps.Copy(spreads, e.Spread)
	}
	m.widen = 1
	if _, told := m.facts["refrigerant"]; !told {
		m.widen, _ = m.base.Resolve(knowledge.Figure{Name: "unknown-refrigerant-widens", Times: 1}, nil)
	}
	for _, id := range slices.Sorted(maps.Keys(m.base.Measurements)) {
		k := m.base.Measurements[id]
		x, err := unit.Meter(id, k)
		if err != nil {
			return err
		}
		if x == nil {
			continue
		}
		s := scale{spread: spreads[id.Quantity()]}
		if k.Spread != nil {
			s.spread = *k.Spread
		}
		if q := m.base.Quantities[id.Quantity()]; q != nil {
			s.quality = *q
		}
		states := liveStates
		if k.Across != nil || k.CapacityOf != "" {
			states = []string{knowledge.DeEnergised}
		}
		for _, state := range states {
			t := &test{
				key: key(string(id), state), reading: id, state: state, scale: s, minutes: k.Minutes, where: k.Place,
				hazard: k.Hazard, instrument: k.Instrument, askable: slices.Contains(k.States, state) && !k.Derived || k.Derived && slices.Contains(k.States, state),
			}
			m.forecastReading(t, k, x)
			m.add(t)
		}
	}
	return nil
}

func key(what, state string) string { return what + "@" + state }

func (m *Model) add(t *test) {
	m.tests = append(m.tests, t)
	m.byKey[t.key] = t
}

func (m *Model) forecastReading(t *test, k *knowledge.Measurement, x *machine.Meter) {
	ls := make([][]lobe, len(m.hyps))
	for h := range m.hyps {
		ls[h] = readingLobes(m.hyps[h].behaviour.Phases[t.state], x, k, t.scale, m.widen)
	}
	t.process = m.processTerms(t.state, x, k)
	m.widenDegrees(t.state, ls)
	m.forecast(t, ls)
}

// forecast gathers hypotheses that predict the same and works out what answers
// can be told apart.
func (m *Model) forecast(t *test, ls [][]lobe) {
	t.of = make([]uint16, len(m.hyps))
	t.forecasts = nil
	seen := map[string]uint16{}
	for h, l := range ls {
		id := lobesKey(l)
		i, ok := seen[id]
		if !ok {
			i = uint16(len(t.forecasts))
			seen[id] = i
			t.forecasts = append(t.forecasts, &forecast{lobes: l})
		}
		t.of[h] = i
	}
	t.places = outcomes(t.forecasts)
	for _, f := range t.forecasts {
		f.spreadOver(t.places, m.tune.slip)
	}
}

func lobesKey(ls []lobe) string {
	var b []byte
	for _, l := range ls {
		for _, v := range []float64{l.weight, l.mean, l.sigma} {
			b = binary.BigEndian.AppendUint32(b, math.Float32bits(float32(v)))
		}
	}
	return string(b)
}

// widenDegrees makes the degrees of one fault cover what lies between them: a
// capacitor may be down by any share, not just by the shares solved for.
func (m *Model) widenDegrees(state string, ls [][]lobe) {
	for _, g := range m.degrees(state) {
		if !m.parted(g, ls) {
			widenPair(ls[g.a], ls[g.b])
		}
	}
}

// parted says whether a third degree of the fault predicts something between two.
func (m *Model) parted(g pairOfDegrees, ls [][]lobe) bool {
	a, b := mainMean(ls[g.a]), mainMean(ls[g.b])
	for h := g.a; h >= 0 && m.sameGroup(g.a, h); h-- {
		if c := mainMean(ls[h]); (c-a)*(c-b) < 0 {
			return true
		}
	}
	for h := g.a + 1; h < len(m.hyps) && m.sameGroup(g.a, h); h++ {
		if c := mainMean(ls[h]); (c-a)*(c-b) < 0 {
			return true
		}
	}
	return false
}

// pairOfDegrees are two degrees of one fault with nothing but more and less between
// them.
type pairOfDegrees struct{ a, b int }

// degrees lists, for a state, the pairs of degrees that blend into each other.
func (m *Model) degrees(state string) []pairOfDegrees {
	if out, ok := m.blends[state]; ok {
		return out
	}
	var out []pairOfDegrees
	for i := range m.hyps {
		for j := i + 1; j < len(m.hyps) && m.sameGroup(i, j); j++ {
			if sameParts(&m.hyps[i], &m.hyps[j]) && sameMoves(&m.hyps[i], &m.hyps[j], state) {
				out = append(out, pairOfDegrees{i, j})
			}
		}
	}
	m.blends[state] = out
	return out
}

// widenPair lets each of two degrees reach half way to the other.
func widenPair(a, b []lobe) {
	if len(a) != len(b) {
		return
	}
	for l := range a {
		gap := math.Abs(a[l].mean-b[l].mean) / 2
		a[l].sigma, b[l].sigma = max(a[l].sigma, gap), max(b[l].sigma, gap)
	}
}

// sameParts says whether two degrees set the same parts, so that what lies
// between them is a degree too.
func sameParts(a, b *hypothesis) bool {
	if len(a.setting.Modes) != len(b.setting.Modes) {
		return false
	}
	for c := range a.setting.Modes {
		if _, ok := b.setting.Modes[c]; !ok {
			return false
		}
	}
	return true
}

// sameMoves says whether under two degrees the same things are open, pulled in and
// turning: only then does a reading go smoothly from one to the other.
func sameMoves(a, b *hypothesis, state string) bool {
	x, y := a.behaviour.Phases[state], b.behaviour.Phases[state]
	return slices.EqualFunc(x, y, (*machine.Phase).SameMoves)
}

func (m *Model) addObservations(unit *machine.Machine) error {
	for _, subject := range slices.Sorted(maps.Keys(m.base.Observations)) {
		o := m.base.Observations[subject]
		if !unit.Fits(o.Needs) || len(o.Order) == 0 {
			continue
		}
		cases := make([]boundCase, len(o.Cases))
		for i, c := range o.Cases {
			when, err := unit.Condition(c.When)
			if err != nil {
				return fmt.Errorf("observation %s: %w", subject, err)
			}
			cases[i] = boundCase{when, c.Likely}
		}
		for _, state := range knowledge.States {
			t := &test{
				key: key(subject, state), subject: subject, state: state, seen: o.Order, minutes: o.Minutes, where: o.Place, hazard: o.Hazard,
				askable: !o.Reported && (state == o.In || slices.Contains(o.Also, state)),
			}
			m.forecastObservation(t, o, cases)
			m.add(t)
		}
	}
	return nil
}

type boundCase struct {
	when   func(*machine.Phase) bool
	likely map[string]float64
}

func (m *Model) forecastObservation(t *test, o *knowledge.Observation, cases []boundCase) {
	t.of = make([]uint16, len(m.hyps))
	seen := map[string]uint16{}
	for h := range m.hyps {
		c := m.chances(&m.hyps[h], t, o, cases)
		asLobes := make([]lobe, len(c))
		for i, p := range c {
			asLobes[i].weight = p
		}
		id := lobesKey(asLobes)
		i, ok := seen[id]
		if !ok {
			i = uint16(len(t.forecasts))
			seen[id] = i
			t.forecasts = append(t.forecasts, &forecast{chance: c})
		}
		t.of[h] = i
	}
	for _, f := range t.forecasts {
		f.spreadOver(nil, m.tune.slip)
	}
}

// chances are the probabilities of an observation's states under a hypothesis: a
// fault's own shows first, else the first case that holds in each phase, else
// what is usual.
func (m *Model) chances(h *hypothesis, t *test, o *knowledge.Observation, cases []boundCase) []float64 {
	out := make([]float64, len(t.seen))
	put := func(likely map[string]float64, weight float64) {
		total := 0.0
		for _, s := range t.seen { // in a fixed order: sums of floats depend on it
			total += likely[s]
		}
		for i, s := range t.seen {
			if p, ok := likely[s]; ok {
				out[i] += weight * p
			} else if total < 1 {
				out[i] += weight * (1 - total) / float64(len(t.seen)-len(likely))
			}
		}
	}
	for _, f := range h.faults {
		if shows, ok := m.base.Faults[m.faults[f]].Shows[t.subject]; ok && t.state == o.In {
			put(shows, 1)
			return out
		}
	}
	phases := h.behaviour.Phases[t.state]
	for i, p := range phases {
		likely := o.Usual
		for _, c := range cases {
			if c.when(p) {
				likely = c.likely
				break
			}
		}
		put(likely, phaseWeight(phases, i, o.AtStart))
	}
	return out
}
