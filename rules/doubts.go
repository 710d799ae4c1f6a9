package rules

import (
	"fmt"
	"math"
	"slices"

	"proveout/knowledge"
	"proveout/rules/refrigerant"
)

// Doubt is a set of readings that cannot all be right. They are not used until the
// person who took them has answered.
type Doubt struct {
	// ID names the kind: hoses, probes, cold, hot (a line against its pressure), bulbs,
	// liquid, suction (a pressure past any).
	ID string
	// Figures fill the phrase doubt-ID, which says what is wrong with them: names and
	// figures in turn. The likely mistake is the phrase slip-ID.
	Figures []string
	// Readings are the ones in doubt.
	Readings []knowledge.ReadingID
}

// The readings a running machine's refrigerant side is doubted by.
const (
	suction     knowledge.ReadingID = "pressure/suction"
	liquid      knowledge.ReadingID = "pressure/liquid"
	suctionLine knowledge.ReadingID = "temperature/suction-line"
	liquidLine  knowledge.ReadingID = "temperature/liquid-line"
	returnAir   knowledge.ReadingID = "temperature/return-air"
	wetBulb     knowledge.ReadingID = "temperature/return-air-wet-bulb"
)

// doubts looks over the readings of a running machine. At rest pressures are equal
// and lines take any temperature, so standing readings are left alone.
func (m *Model) doubts(s *Situation) []Doubt {
	read := func(id knowledge.ReadingID) float64 {
		if it, ok := s.moving(string(id)); ok {
			return it.Value
		}
		return math.NaN()
	}
	if d := m.beyondAny(read(suction), read(liquid)); d != nil {
		return []Doubt{*d}
	}
	var out []Doubt
	for _, d := range m.here.Doubts(read(suction), read(liquid), read(suctionLine), read(liquidLine), m.margins) {
		out = append(out, Doubt{ID: d.ID, Figures: d.Figures, Readings: doubted(d)})
	}
	if wb, db := read(wetBulb), read(returnAir); wb > db {
		out = append(out, Doubt{
			ID: "bulbs", Figures: []string{"wet", fmt.Sprintf("%.4g °F", wb), "dry", fmt.Sprintf("%.4g °F", db)},
			Readings: []knowledge.ReadingID{wetBulb, returnAir},
		})
	}
	return out
}

// beyondAny doubts pressures that no machine running on this refrigerant shows, which
// kilopascals taken for pounds do.
func (m *Model) beyondAny(low, high float64) *Doubt {
	limit := func(name string) float64 {
		v, ok := m.base.Resolve(knowledge.Figure{Name: name, Times: 1}, m.facts)
		if !ok {
			return math.Inf(1)
		}
		return v
	}
	if high > limit("liquid-most") {
		return &Doubt{ID: "liquid", Figures: []string{"pressure", fmt.Sprintf("%.0f psig", high)}, Readings: []knowledge.ReadingID{suction, liquid}}
	}
	if f, ok := m.here.Saturation(suction, low); low > 0 && (!ok || f > limit("suction-saturation-most")) {
		return &Doubt{ID: "suction", Figures: []string{"pressure", fmt.Sprintf("%.0f psig", low)}, Readings: []knowledge.ReadingID{suction}}
	}
	return nil
}

// doubted says which readings a doubt is about: the pressures when they contradict
// each other, else everything the sums are made of.
func doubted(d refrigerant.Doubt) []knowledge.ReadingID {
	if d.Pressures {
		return []knowledge.ReadingID{suction, liquid}
	}
	return []knowledge.ReadingID{suctionLine, liquidLine}
}

// undoubted is the situation with the readings in doubt set aside; places in the
// evidence stay what they were.
func undoubted(s *Situation, ds []Doubt) *Situation {
	if len(ds) == 0 {
		return s
	}
	out := *s
	out.aside = make([]bool, len(s.Evidence))
	for i, it := range s.Evidence {
		out.aside[i] = it.State != knowledge.Standing && slices.ContainsFunc(ds, func(d Doubt) bool { return slices.Contains(d.Readings, it.Reading) })
	}
	return &out
}

// isAside says whether a piece of evidence is set aside.
func (s *Situation) isAside(i int) bool { return i < len(s.aside) && s.aside[i] }
