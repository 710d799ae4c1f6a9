package dialog

import (
	"cmp"
	"math"
	"slices"

	"proveout/knowledge"
)

// A person reads few cautions well: how many go before a reading, and before a
// repair, where the deferral to codes and licences is one more.
const (
	cautionsToRead   = 2
	cautionsToRepair = 6
)

// caution adds the cautions that apply and were not said on this job yet, the
// gravest first. With a repair, those that belong to every repair are said again.
func (t *turn) caution(ids []string, repair bool) {
	ids = slices.Clone(ids)
	slices.SortStableFunc(ids, func(a, b string) int { return cmp.Compare(t.rank(a), t.rank(b)) })
	said, room := 0, cautionsToRead
	if repair {
		room = cautionsToRepair
	}
	for _, id := range ids {
		c := t.base.Cautions[id]
		again := repair && (c != nil && (c.Once || c.Repair))
		if c == nil || t.job.said[id] && !again || !t.ofClass(c) || t.toldOtherwise(c.Needs) {
			continue
		}
		if said >= room && !c.Once {
			continue
		}
		t.job.said[id] = true
		t.lines = append(t.lines, Line{Part: Caution, Text: c.Text, Brief: c.Brief})
		said++
	}
}

// beware adds the cautions for what this message says was seen.
func (t *turn) beware() {
	for _, o := range t.u.Observations {
		if k := t.base.Observations[o.Subject]; k != nil {
			t.caution(k.Beware[o.State], false)
		}
	}
}

// ofClass says whether a caution is for this unit's refrigerant; before the plate
// is read it may be.
func (t *turn) ofClass(c *knowledge.Caution) bool {
	r := t.base.Refrigerants[t.job.Situation.Facts["refrigerant"]]
	return len(c.Classes) == 0 || r == nil || slices.Contains(c.Classes, r.Class)
}

// toldOtherwise says whether the unit is told to be other than a caution is for;
// untold it may be.
func (t *turn) toldOtherwise(needs map[string]string) bool {
	for f, want := range needs {
		if have, told := t.job.Situation.Facts[f]; told && have != want {
			return true
		}
	}
	return false
}

func (t *turn) rank(id string) int {
	if c := t.base.Cautions[id]; c != nil {
		return c.Rank
	}
	return math.MaxInt
}
