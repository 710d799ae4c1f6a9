package bot

import (
	"cmp"
	"context"
	"math"
	"slices"

	"proveout/bot/ladder"
	"proveout/dialog"
	"proveout/knowledge"
)

// Drawing gives a job's circuit as it stands: the meter where it is asked for, what was
// measured at its points, and what that proves. CodeNotFound, CodeForbidden.
func (s *Service) Drawing(ctx context.Context, viewer, job string) (ladder.Drawing, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return ladder.Drawing{}, err
	}
	h, err := s.seen(ctx, p, job)
	if err != nil {
		return ladder.Drawing{}, err
	}
	return drawing(s.agent.In(s.reads(p, h.talk.Language())), h.talk)
}

// draw sends who asks for it the job's circuit, with how to take the reading in words.
func (w *work) draw() {
	agent := w.agent.In(cmp.Or(w.person.Language, w.talk.Language()))
	m := w.send(w.answersAt(), inWords(agent, w.talk))
	m.Draws = agent.Knowledge().Language
}

// inWords is what a drawing says to who cannot see it: where the leads go, else what it
// is of.
func inWords(agent *dialog.Agent, talk *dialog.Job) string {
	stands := agent.Standing(talk)
	if how := stands.Said(dialog.How); how != "" {
		return how
	}
	return agent.Knowledge().Equipment[agent.Equipment()].Name
}

// drawn is the circuit that goes with a message; without it where the job cannot be read
// the words go alone.
func (s *Service) drawn(ctx context.Context, m *Outbound) Picture {
	if m.Draws == "" {
		return nil
	}
	h, err := s.history(ctx, m.Job)
	if err == nil {
		var d ladder.Drawing
		if d, err = drawing(s.agent.In(m.Draws), h.talk); err == nil {
			return &d
		}
	}
	s.Log.Error().Err(err).Str("correlation", m.ID).Msg("drawing a circuit")
	return nil
}

// drawing is a talk's circuit in the agent's language.
func drawing(agent *dialog.Agent, talk *dialog.Job) (ladder.Drawing, error) {
	return ladder.Draw(agent.Knowledge(), agent.Equipment(), marking(agent, talk))
}

// marking is what a talk has to show on its circuit.
func marking(agent *dialog.Agent, talk *dialog.Job) ladder.Marking {
	base, stands := agent.Knowledge(), agent.Standing(talk)
	c := circuit{base: base, equipment: agent.Equipment(), wiring: base.Wiring(agent.Equipment()), known: stands.Known, state: talk.Situation.State, seen: map[string]truth{}, passes: map[string]bool{}}
	m := ladder.Marking{Suspects: map[string]float64{}, Good: map[string]bool{}, Open: map[string]bool{}, Absent: map[string]bool{}}
	if a := stands.Ask; a != nil && a.Reading != "" {
		m.Meter = ladder.MeterFor(base, c.equipment, a.Reading)
		if m.Meter != nil && a.State != "" {
			c.state = a.State
		}
	}
	for i := range stands.Evidence {
		e := &stands.Evidence[i]
		if e.Observation != "" {
			c.look(e.Observation, e.Seen)
			continue
		}
		c.read(base.Measurements[e.Reading], e.Value)
		if v, ok := ladder.ValueOf(base, c.equipment, e.Reading, agent.Figure(e.Reading.Quantity(), e.Value)); ok {
			m.Values = append(m.Values, v)
			if math.IsInf(e.Value, 1) && v.Component != "" {
				c.seen[v.Component] = no
			}
		}
	}
	for i := range c.wiring.Components {
		part := &c.wiring.Components[i]
		switch {
		case c.absent(part.Needs):
			m.Absent[part.ID] = true
		case c.conducts(part) == no:
			m.Open[part.ID] = true
		}
	}
	for _, x := range stands.Suspects {
		for id := range faulty(base.Faults[x.Fault]) {
			m.Suspects[id] = math.Min(1, m.Suspects[id]+x.Probability)
		}
	}
	for id := range c.cleared(stands.RuledOut) {
		if c.passes[id] {
			m.Good[id] = true
		}
	}
	return m
}

// truth is what is known of a condition.
type truth int

const (
	unknown truth = iota
	yes
	no
)

// circuit is a unit's wiring with what was seen of it.
type circuit struct {
	base      *knowledge.Base
	equipment string
	wiring    *knowledge.Wiring
	known     map[string]string
	state     string
	seen      map[string]truth // by coil whether it is pulled in, by any other part whether it conducts
	passes    map[string]bool  // parts shown to carry, or read by themselves
}

// These say when a sighting tells as much as a look at the part itself: it is rare
// without, or with, what it is the sign of.
const (
	plainly = 0.7
	seldom  = 0.2
	hardly  = 0.05
)

// look takes from a sighting what it says of coils and contacts: how the knowledge
// expects it of a coil pulled in, a device tripped or a part in a mode.
func (c *circuit) look(observation, seen string) {
	o := c.base.Observations[observation]
	if o == nil {
		return
	}
	for _, x := range o.Cases {
		p := x.Likely[seen]
		for _, a := range atoms(x.When) {
			switch {
			case a.Energised != "" && p <= hardly:
				c.seen[a.Energised] = no
			case a.Energised != "" && p >= plainly && o.Usual[seen] <= seldom:
				c.seen[a.Energised] = yes
				c.carries(a.Energised)
			case a.Running != "" && p >= plainly && o.Usual[seen] <= seldom:
				c.turns(a.Running)
			case p < plainly || o.Usual[seen] > seldom:
			case a.Tripped != "":
				c.seen[a.Tripped] = no
			default:
				for id, mode := range a.Mode {
					if c.opens(id, mode) {
						c.seen[id] = no
					}
				}
			}
		}
	}
}

// opens says whether a mode leaves a part open.
func (c *circuit) opens(id, mode string) bool {
	part, ok := c.wiring.Component(id)
	if !ok || c.base.Kinds[part.Kind] == nil {
		return false
	}
	m := c.base.Kinds[part.Kind].Modes[mode]
	return m.Stuck == "open" || math.IsInf(m.Set["ohms"].Value, 1)
}

// atoms lists a condition's, those of which any will do too.
func atoms(of knowledge.Condition) []knowledge.Atom {
	var out []knowledge.Atom
	for _, a := range of {
		out = append(append(out, a), atoms(a.Any)...)
	}
	return out
}

// conducts says whether a contact is closed in the state the machine is in.
func (c *circuit) conducts(part *knowledge.Component) truth {
	if part.PullIn == 0 && c.seen[part.ID] != unknown {
		return c.seen[part.ID]
	}
	return c.all(part.Closed)
}

func (c *circuit) all(of knowledge.Condition) truth {
	out := yes
	for i := range of {
		switch c.holds(&of[i]) {
		case no:
			return no
		case unknown:
			out = unknown
		case yes:
		}
	}
	return out
}

func (c *circuit) holds(a *knowledge.Atom) truth {
	is := func(ok bool) truth {
		if ok {
			return yes
		}
		return no
	}
	coil := func(id string) truth {
		if c.state == knowledge.DeEnergised {
			return no
		}
		return c.seen[id]
	}
	switch {
	case a.State != nil:
		return is(slices.Contains(a.State, c.state))
	case a.Energised != "":
		return coil(a.Energised)
	case a.Dropped != "":
		return []truth{unknown, no, yes}[coil(a.Dropped)]
	case a.Fact != nil:
		return is(c.fits(a.Fact))
	case a.Any != nil:
		out := no
		for i := range a.Any {
			if t := c.holds(&a.Any[i]); t == yes {
				return yes
			} else if t == unknown {
				out = unknown
			}
		}
		return out
	}
	return unknown
}

// fits says whether the unit's facts, told or usual, are such.
func (c *circuit) fits(facts map[string]string) bool {
	for id, want := range facts {
		is, told := c.known[id]
		if f := c.base.Facts[id]; !told && f != nil {
			is = f.Default
		}
		if is != want {
			return false
		}
	}
	return true
}

// absent says whether a part was told not to be there.
func (c *circuit) absent(needs map[string]string) bool {
	for id, want := range needs {
		if is, told := c.known[id]; told && is != want {
			return true
		}
	}
	return false
}

// faulty are the components a fault is in: none where it can be there with every part
// sound. A switch that only the worst loss of charge holds open does its work, and changing
// it would be the mistake.
func faulty(f *knowledge.Fault) map[string]bool {
	out := map[string]bool{}
	if f == nil {
		return out
	}
	for id := range f.Modes {
		out[id] = true
	}
	for _, v := range f.Variants {
		if len(f.Modes)+len(v.Modes) == 0 {
			return nil
		}
		for id := range v.Modes {
			out[id] = true
		}
	}
	return out
}

// cleared are the parts all of whose faults are ruled out: those the unit can have, and at
// least one.
func (c *circuit) cleared(ruledOut []dialog.RuledOut) map[string]bool {
	out := map[string]bool{}
	for _, x := range ruledOut {
		out[x.Fault] = true
	}
	cleared, doubted := map[string]bool{}, map[string]bool{}
	for id, f := range c.base.Faults {
		if !c.fits(f.Needs) {
			continue
		}
		for part := range faulty(f) {
			if out[id] {
				cleared[part] = true
			} else {
				doubted[part] = true
			}
		}
	}
	for part := range doubted {
		delete(cleared, part)
	}
	return cleared
}
