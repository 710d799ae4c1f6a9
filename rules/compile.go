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
	slip, falsePresence, bar, unsureBar, hangsBelow, hangsLive, sureBar, repeatWorth, recheckFrom, recheckRise, pairShare, askMinutes, ruledOut, moveMinutes, lineMinutes, pressureMinutes, roundedPercent, rangeShare float64
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
		slip: get("slip"), falsePresence: get("false-presence"), bar: get("call-bar"), unsureBar: get("unsure-bar"), hangsBelow: get("hangs-below"), hangsLive: get("hangs-live"), sureBar: get("sure-bar"), repeatWorth: get("repeat-worth"), recheckFrom: get("recheck-from"), recheckRise: get("recheck-rise"), pairShare: get("pair-share"), askMinutes: get("ask-minutes"), ruledOut: get("ruled-out-below"), moveMinutes: get("move-minutes"),
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
