// Package prove plays the technician: for every fault of a unit it answers each
// question the engine asks from the engine's own prediction, truthfully or with a
// share of slips, and tells whether the fault was found, with what and how long it
// took, beside a fixed top-down flowchart.
package prove

import (
	"math/rand/v2"

	"proveout/knowledge"
	"proveout/rules"
)

// Game is how to play.
type Game struct {
	// Noise is the probability that a question is answered wrongly the first time.
	Noise float64
	// Seed makes the slips repeatable.
	Seed uint64
	// Facts are answered when asked for; defaults otherwise.
	Facts map[string]string
}

// Result is one game.
type Result struct {
	Truth rules.Truth
	// Called is the fault called, empty when the engine got stuck.
	Called string
	// Measurements and Minutes until the call.
	Measurements int
	Minutes      float64
	// Steps are the questions with the answers given.
	Steps []Step
	// Flowchart is the minutes the fixed order takes to the same call; Flowed
	// whether it got there.
	Flowchart float64
	Flowed    bool
}

// Step is one question and its answer.
type Step struct {
	Ask    *rules.Ask
	Answer rules.Item
	Fact   string
	Wrong  bool
}

// Found says whether the call was right. Alike faults, which no measurement tells
// apart, count as each other.
func (r Result) Found(base *knowledge.Base) bool {
	if r.Called == r.Truth.Fault {
		return true
	}
	_, alike := base.Faults[r.Truth.Fault].Alike[r.Called]
	return alike
}

// mostSteps ends a game that goes nowhere.
const mostSteps = 60

// Play plays one truth to its call.
func Play(m *rules.Model, base *knowledge.Base, t rules.Truth, g Game) Result {
	r := Result{Truth: t}
	s := &rules.Situation{Facts: map[string]string{}, State: knowledge.Calling, CannotTake: map[string]bool{}, Rechecked: map[string]int{}}
	rng := rand.New(rand.NewPCG(g.Seed, uint64(len(t.Fault))<<8|uint64(t.Degree)))
	asked := map[string]bool{}
	for range mostSteps {
		d := m.Diagnose(s)
		if d.Call != nil {
			r.Called = d.Call.Fault
			return r
		}
		if d.Ask == nil {
			return r
		}
		answer(m, base, t, g, s, d.Ask, rng, asked, &r)
	}
	return r
}

func answer(m *rules.Model, base *knowledge.Base, t rules.Truth, g Game, s *rules.Situation, a *rules.Ask, rng *rand.Rand, asked map[string]bool, r *Result) {
	r.Measurements++
	r.Minutes += a.Minutes
	if a.Fact != "" {
		s.Facts[a.Fact] = base.Facts[a.Fact].Default
		if v, ok := g.Facts[a.Fact]; ok {
			s.Facts[a.Fact] = v
		}
		r.Steps = append(r.Steps, Step{Ask: a, Fact: s.Facts[a.Fact]})
		return
	}
	it, ok := m.Answer(t, a)
	if !ok {
		s.CannotTake[a.Key()] = true
		return
	}
	wrong := false
	if others := m.WrongAnswers(t, a); !asked[a.Key()] && len(others) > 0 && rng.Float64() < g.Noise {
		it, wrong = others[rng.IntN(len(others))], true
	}
	if a.Purpose == rules.ToRecheck || a.Purpose == rules.ToConfirm {
		s.Rechecked[a.Key()]++
		s.Evidence = append(s.Evidence[:a.Doubts:a.Doubts], s.Evidence[a.Doubts+1:]...)
	}
	asked[a.Key()] = true
	s.Evidence = append(s.Evidence, it)
	s.State = a.State
	if w := m.Where(a); w != "" {
		s.Place = w
	}
	r.Steps = append(r.Steps, Step{Ask: a, Answer: it, Wrong: wrong})
}

// Flow takes the equipment's flowchart from top to bottom, truthfully, until the
// engine makes a call on what is in hand; where the list ends it goes on as the
// engine asks.
func Flow(m *rules.Model, base *knowledge.Base, t rules.Truth, g Game) (minutes float64, reached bool) {
	s := &rules.Situation{Facts: map[string]string{}, State: knowledge.Calling, CannotTake: map[string]bool{}, Rechecked: map[string]int{}}
	var r Result
	done := func() bool {
		d := m.Diagnose(s)
		return d.Call != nil
	}
	for id, f := range base.Facts {
		s.Facts[id] = f.Default // read off the plate before starting
	}
	for _, e := range base.Lineage(m.Equipment()) {
		for _, what := range e.Flowchart {
			a := m.Question(s, what, "")
			if a == nil {
				continue
			}
			answer(m, base, t, Game{Facts: g.Facts}, s, a, rand.New(rand.NewPCG(0, 0)), map[string]bool{}, &r)
			if done() {
				return r.Minutes, true
			}
		}
	}
	for range mostSteps {
		d := m.Diagnose(s)
		if d.Call != nil {
			return r.Minutes, true
		}
		if d.Ask == nil {
			return r.Minutes, false
		}
		answer(m, base, t, Game{Facts: g.Facts}, s, d.Ask, rand.New(rand.NewPCG(0, 0)), map[string]bool{}, &r)
	}
	return r.Minutes, false
}
