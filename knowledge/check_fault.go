package knowledge

import (
	"slices"
	"strings"
)

func (s spot) weight(w float64) {
	if !(w >= 0 && w < 1e9) {
		s.in("weight").fail("write how often it is the cause, relative to the others", "%g is no weight", w)
	}
}

// brief checks that what is said in few words is shorter.
func (s spot) brief(brief, whole string) {
	if len(brief) >= len(whole) && brief != "" {
		s.in("brief").fail("say it in fewer words, or leave it out", "it is no shorter than the whole")
	}
}

func (c *checker) fault(s spot, id string, f *Fault) {
	s.source(f.Source)
	s.weight(f.Weight)
	s.text(f.Name, "name", "finish the sentence \"It is a ...\"")
	s.text(f.Short, "short", "name it in a few words, for lists")
	s.text(f.Repair, "repair", "say what to do about it")
	s.brief(f.Brief, f.Repair)
	if len(f.Proof) == 0 {
		s.fail("write under proof: what must be in hand before it is called", "it has no proof")
	}
	if len(f.Cautions) == 0 {
		s.fail("list under cautions: what to beware of in the repair", "it has no cautions")
	}
	s.in("cautions").refs("cautions", f.Cautions)
	if len(f.Checks) == 0 {
		s.fail("list under checks: what proves the machine well afterwards", "it has no checks")
	}
	s.in("checks").refs("checks", f.Checks)
	s.in("needs").needs(f.Needs)
	s.setting(f.Modes, f.Effects)
	for i, v := range f.Variants {
		at := s.in("variants", i)
		if v.Degree != "" {
			at.in("degree").oneOf("degree", v.Degree, Mild, Moderate, Severe)
		}
		at.alike(id, v.Alike)
		if !(v.Share > 0 && v.Share <= 1) {
			at.fail("write its share of the weight, above 0 and up to 1", "%g is no share", v.Share)
		}
		at.setting(v.Modes, v.Effects)
	}
	for i, step := range f.Proof {
		s.in("proof", i).step(step)
	}
	c.shows(s.in("shows"), f.Shows)
	c.links(s, id, f)
}

// setting checks what a fault or one degree of it does to the machine.
func (s spot) setting(modes map[string]string, effects []Effect) {
	for _, id := range keysOf(modes) {
		s.in("modes", id).inMode(s.c.all, id, modes[id])
	}
	for i, e := range effects {
		at := s.in("effects", i)
		at.source(e.Source)
		at.in("on").processID(s.c.all, e.On)
		at.in("when").condition(s.c.all, e.When)
		if (e.Add == nil) == (e.Set == nil) {
			at.fail("give it either add or set", "the effect does not say what it does")
		}
		if e.Spread < 0 {
			at.in("spread").fail("write zero or more", "%g is no spread", e.Spread)
		}
	}
}

func (c *checker) shows(s spot, shows map[string]map[string]float64) {
	for _, subject := range keysOf(shows) {
		at := s.in(subject)
		if at.ref("observations", subject) {
			at.chances(shows[subject], keysOf(c.b.Observations[subject].States))
		}
	}
}

// links checks what a fault says of other faults.
func (c *checker) links(s spot, id string, f *Fault) {
	for i, other := range f.ConsequenceOf {
		at := s.in("consequence-of", i)
		if at.ref("faults", other) {
			if way := c.backTo(id, other, map[string]bool{}); way != nil {
				at.fail("leave one of the links out", "it ends in a consequence of itself: %s", strings.Join(append([]string{id}, way...), ", "))
			}
		}
	}
	s.alike(id, f.Alike)
}

// alike checks what a fault, or one degree of it, is declared alike with.
func (s spot) alike(id string, alike map[string]string) {
	for _, other := range keysOf(alike) {
		at := s.in("alike", other)
		at.ref("faults", other)
		at.text(alike[other], "reason", "say why no measurement tells them apart")
		if other == id {
			at.fail("name another fault", "it is declared alike with itself")
		}
	}
}

// backTo finds a way from a fault over what it can be a consequence of to a goal.
func (c *checker) backTo(goal, from string, seen map[string]bool) []string {
	if from == goal {
		return []string{goal}
	}
	f := c.b.Faults[from]
	if f == nil || seen[from] {
		return nil
	}
	seen[from] = true
	for _, next := range f.ConsequenceOf {
		if way := c.backTo(goal, next, seen); way != nil {
			return append([]string{from}, way...)
		}
	}
	return nil
}

func (s spot) step(step ProofStep) {
	if len(step.AnyOf) == 0 {
		s.fail("write `any-of:` and under it the ways to satisfy it", "the step of the proof has no way")
	}
	for i, way := range step.AnyOf {
		at := s.in("any-of", i)
		if len(way) == 0 {
			at.fail("list the findings, or remove it", "the way asks for nothing and so is always met")
		}
		for j := range way {
			at.in(j).finding(&way[j])
		}
	}
}

// slots stand in the proof of a kind's fault for the readings of the part at hand.
var slots = []string{"{in}", "{out}", "{across}", "{ohms}", "{held}"}

// finding checks a reading within bounds or an observation in a state.
func (s spot) finding(f *Finding) {
	if f.State != "" {
		s.in("state").oneOf("state", f.State, States...)
	}
	s.bounds(f.AtLeast, f.AtMost)
	s.saturation(f.Reading, f.SaturationAtLeast, f.SaturationAtMost)
	bounded := len(f.Bounds()) > 0
	switch {
	case f.said() != 1:
		s.fail("give it either reading, observation or fact", "the finding does not say what is found")
	case f.Fact != "":
		s.onFact(f, bounded)
	case f.Reading != "":
		if slot := strings.HasPrefix(f.Reading, "{"); slot {
			s.in("reading").oneOf("reading", f.Reading, slots...)
		} else if s.in("reading").ref("measurements", f.Reading) {
			s.taken(f.State, s.c.b.Measurements[ReadingID(f.Reading)].States)
		}
		if !bounded {
			s.fail("give it at-least or at-most", "the reading has no bound, so any value would do")
		}
		if f.Is != "" {
			s.in("is").fail("write at-least or at-most", "a reading is not in a state")
		}
	case s.in("observation").ref("observations", f.Observation):
		o := s.c.b.Observations[f.Observation]
		s.in("is").oneOf("state of "+f.Observation, f.Is, keysOf(o.States)...)
		s.taken(f.State, append([]string{o.In}, o.Also...))
		if bounded {
			s.fail("remove at-least and at-most", "an observation has no bounds")
		}
	}
}

// said counts what a finding is on.
func (f *Finding) said() int {
	n := 0
	for _, on := range []string{f.Reading, f.Observation, f.Fact} {
		if on != "" {
			n++
		}
	}
	return n
}

// onFact checks a finding on what is told of the equipment.
func (s spot) onFact(f *Finding, bounded bool) {
	if !s.in("fact").ref("facts", f.Fact) {
		return
	}
	switch k := s.c.b.Facts[f.Fact]; {
	case len(k.Values) > 0 && bounded:
		s.fail("write is", "the fact %s is no figure", f.Fact)
	case len(k.Values) > 0:
		s.in("is").oneOf("value of "+f.Fact, f.Is, k.Values...)
	case !bounded || f.Is != "":
		s.fail("write at-least or at-most", "the fact %s is a figure", f.Fact)
	}
}

// taken wants a finding's state to be one its reading can be taken in.
func (s spot) taken(state string, states []string) {
	if state != "" && slices.Contains(States, state) && len(states) > 0 && !slices.Contains(states, state) {
		s.in("state").fail("write one of "+strings.Join(states, ", ")+", or allow it there", "it is never taken %s", state)
	}
}

func (c *checker) afterRepair(s spot, _ string, x *Check) {
	s.source(x.Source)
	s.text(x.Ask, "ask", "write the question")
	s.text(x.Failed, "failed", "say what a failed check means")
	s.in("needs").needs(x.Needs)
	s.in("cautions").refs("cautions", x.Cautions)
	if x.State != "" {
		s.in("state").oneOf("state", x.State, States...)
	}
	s.bounds(x.AtLeast, x.AtMost)
	s.saturation(x.Reading, nil, x.SaturationAtMost)
	switch {
	case (x.Reading == "") == (x.Observe == ""):
		s.fail("give it either reading or observe", "the check does not say what is looked at")
	case x.Reading != "":
		s.in("reading").ref("measurements", x.Reading)
		if x.AtLeast == nil && x.AtMost == nil && x.SaturationAtMost == nil {
			s.fail("give it at-least or at-most", "the reading has no bound, so any value passes")
		}
	case s.in("observe").ref("observations", x.Observe):
		c.passes(s, x, keysOf(c.b.Observations[x.Observe].States))
	}
}

// passes checks which states of an observation pass and which fail.
func (c *checker) passes(s spot, x *Check, states []string) {
	if len(x.Pass) == 0 {
		s.fail("list under pass: the states that pass", "nothing passes the check")
	}
	for i, st := range x.Pass {
		s.in("pass", i).oneOf("state of "+x.Observe, st, states...)
	}
	for i, st := range x.Fail {
		at := s.in("fail", i)
		at.oneOf("state of "+x.Observe, st, states...)
		if slices.Contains(x.Pass, st) {
			at.fail("keep it in one of the two", "%s both passes and fails", st)
		}
	}
}

func (c *checker) caution(s spot, _ string, x *Caution) {
	s.source(x.Source)
	s.text(x.Text, "text", "write what to beware of")
	s.brief(x.Brief, x.Text)
	for i, class := range x.Classes {
		s.in("classes", i).oneOf("safety class", class, safetyClasses...)
	}
	s.in("needs").needs(x.Needs)
	if x.State != "" {
		s.in("state").oneOf("state of the machine", x.State, Calling, Standing, DeEnergised)
	}
	if x.Rank < 0 {
		s.in("rank").fail("write zero or more; the lower is kept when there is room for few", "%d is no rank", x.Rank)
	}
}
