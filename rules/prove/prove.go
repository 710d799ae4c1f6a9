// Package prove plays the technician: for every fault of a unit it answers each
// question the engine asks from the engine's own prediction, truthfully or with a
// share of slips, and tells whether the fault was found, with what and how long it
// took, beside a fixed top-down flowchart and, where it can be computed, the best
// there is.
//
// It is the one package under rules that draws random numbers: a slip has to
// happen somewhere. They come from a generator seeded by the caller, the fault and
// the game, so that a table can be made again to the last digit.
package prove

import (
	"hash/fnv"
	"maps"
	"math/rand/v2"
	"slices"

	"proveout/knowledge"
	"proveout/rules"
)

// Game is how to play.
type Game struct {
	// Noise is the probability that a question is answered wrongly the first time.
	Noise float64
	// Seed makes the slips repeatable.
	Seed uint64
	// Facts are told at the start; another fact asked for has its default.
	Facts map[string]string
}

// Result is one game.
type Result struct {
	Truth rules.Truth
	// Called is the fault called, empty when the engine got stuck; Unsure whether it
	// left the call to a senior.
	Called string
	Unsure bool
	// Proven says whether the call's proof was in the evidence, looked up by this
	// package and not by the engine.
	Proven bool
	// Measurements and Minutes until the call.
	Measurements int
	Minutes      float64
	// Steps are the questions with the answers given.
	Steps []Step
	// Left are the suspects at the end, likeliest first.
	Left []rules.Suspect
}

// Step is one question and its answer.
type Step struct {
	Ask    *rules.Ask
	Answer rules.Item
	// Fact is the answer when a fact was asked for.
	Fact string
	// Wrong marks a slip.
	Wrong bool
}

// Found says whether the call was right. Alike faults, which no measurement tells
// apart, count as each other.
func (r *Result) Found(base *knowledge.Base) bool {
	if r.Called == r.Truth.Fault {
		return true
	}
	_, alike := base.Faults[r.Truth.Fault].AlikeIn(r.Truth.Degree)[r.Called]
	return alike
}

// mostSteps ends a game that goes nowhere.
const mostSteps = 60

// table is where a game is played: the engine on one side, the truth on the other.
type table struct {
	m     *rules.Model
	base  *knowledge.Base
	game  Game
	s     *rules.Situation
	rng   *rand.Rand
	asked map[string]bool
	r     Result
}

func open(m *rules.Model, base *knowledge.Base, t rules.Truth, g Game) *table {
	name := fnv.New64a()
	_, _ = name.Write([]byte(t.Fault)) // a hash takes any bytes
	facts := maps.Clone(g.Facts)
	if facts == nil {
		facts = map[string]string{}
	}
	return &table{
		m: m, base: base, game: g,
		s:   &rules.Situation{Facts: facts, State: knowledge.Calling, CannotTake: map[string]bool{}, Rechecked: map[string]int{}},
		rng: rand.New(rand.NewPCG(g.Seed, name.Sum64()+uint64(t.Degree))), asked: map[string]bool{}, r: Result{Truth: t},
	}
}

// Play plays one truth to its call.
func Play(m *rules.Model, base *knowledge.Base, t rules.Truth, g Game) Result {
	p := open(m, base, t, g)
	p.toTheCall()
	return p.r
}

// toTheCall answers what the engine asks until it calls or gives up.
func (p *table) toTheCall() {
	for range mostSteps {
		d := p.m.Diagnose(p.s)
		p.r.Left = d.Suspects
		if d.Call != nil {
			p.r.Called, p.r.Unsure = d.Call.Fault, d.Call.Unsure
			p.r.Proven = proven(p.m, p.base, p.s, d.Call.Fault)
			if d.Call.Reread != nil {
				p.answer(d.Call.Reread)
				p.s.Reread = d.Call.Fault
				continue
			}
			return
		}
		if d.Ask == nil {
			return
		}
		p.answer(d.Ask)
	}
}

func (p *table) answer(a *rules.Ask) {
	p.r.Measurements++
	p.r.Minutes += a.Minutes
	if a.Fact != "" {
		p.s.Facts[a.Fact] = p.base.Facts[a.Fact].Default
		p.r.Steps = append(p.r.Steps, Step{Ask: a, Fact: p.s.Facts[a.Fact]})
		return
	}
	it, ok := p.m.Answer(p.r.Truth, a)
	if !ok {
		p.s.CannotTake[a.Key()] = true
		return
	}
	it, wrong := p.maybeWrong(a, it)
	if a.Purpose == rules.ToRecheck || a.Purpose == rules.ToConfirm {
		p.s.Rechecked[a.Key()]++
		p.s.Evidence = slices.Delete(slices.Clone(p.s.Evidence), a.Doubts, a.Doubts+1)
	}
	p.s.Evidence = append(p.s.Evidence, it)
	p.s.State = a.State
	if w := p.m.Where(a); w != "" {
		p.s.Place = w
	}
	p.r.Steps = append(p.r.Steps, Step{Ask: a, Answer: it, Wrong: wrong})
}

// maybeWrong is the answer given, and whether it is a slip. Only the first answer
// to a question can be one.
func (p *table) maybeWrong(a *rules.Ask, right rules.Item) (it rules.Item, wrong bool) {
	first := !p.asked[a.Key()]
	p.asked[a.Key()] = true
	if !first || p.rng.Float64() >= p.game.Noise {
		return right, false
	}
	others := p.m.WrongAnswers(p.r.Truth, a)
	if len(others) == 0 {
		return right, false
	}
	return others[p.rng.IntN(len(others))], true
}

// Flow takes the equipment's flowchart from top to bottom, truthfully, until the
// engine makes a call on what is in hand; where the list ends it goes on as the
// engine asks. The plate is read before the start, for nothing.
func Flow(m *rules.Model, base *knowledge.Base, t rules.Truth, facts map[string]string) (minutes float64, reached bool) {
	p := open(m, base, t, Game{Facts: facts})
	for id, f := range base.Facts {
		if _, told := p.s.Facts[id]; !told {
			p.s.Facts[id] = f.Default
		}
	}
	for _, what := range flowchart(m, base) {
		a := m.Question(p.s, what, "")
		if a == nil {
			continue
		}
		p.answer(a)
		if p.anyProven() && m.Diagnose(p.s).Call != nil {
			return p.r.Minutes, true
		}
	}
	p.toTheCall()
	return p.r.Minutes, p.r.Called != ""
}

// anyProven says whether there is a fault a call could rest on at all, which costs
// far less to tell than to diagnose.
func (p *table) anyProven() bool {
	return slices.ContainsFunc(p.m.Faults(), func(f string) bool { return proven(p.m, p.base, p.s, f) })
}

// flowchart is the fixed order of the unit and of what it extends.
func flowchart(m *rules.Model, base *knowledge.Base) []string {
	var out []string
	for _, e := range base.Lineage(m.Equipment()) {
		out = append(out, e.Flowchart...)
	}
	return out
}
