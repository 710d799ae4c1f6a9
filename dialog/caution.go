package dialog

import (
	"cmp"
	"math"
	"slices"

	"proveout/knowledge"
)

// caution adds the cautions that apply and were not said on this job yet; with a
// repair the deferral to codes and licences is said again.
func (t *turn) caution(ids []string, repair bool) {
	ids = slices.Clone(ids)
	slices.SortStableFunc(ids, func(a, b string) int { return cmp.Compare(t.rank(a), t.rank(b)) })
	said := 0
	for _, id := range ids {
		c := t.base.Cautions[id]
		if c == nil || t.job.said[id] && !(repair && c.Once) || !t.ofClass(c) {
			continue
		}
		if said == 2 && !repair {
			break
		}
		t.job.said[id] = true
		t.lines = append(t.lines, Line{Caution, c.Text})
		said++
	}
}

// ofClass says whether a caution is for this unit's refrigerant; before the plate
// is read it may be.
func (t *turn) ofClass(c *knowledge.Caution) bool {
	r := t.base.Refrigerants[t.job.Situation.Facts["refrigerant"]]
	return len(c.Classes) == 0 || r == nil || slices.Contains(c.Classes, r.Class)
}

func (t *turn) rank(id string) int {
	if c := t.base.Cautions[id]; c != nil {
		return c.Rank
	}
	return math.MaxInt
}
