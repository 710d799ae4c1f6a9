package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"proveout/knowledge"
	"proveout/rules/machine"
)

// hypothesis is one way the machine may be: nothing wrong, a fault in one degree,
// or two faults at once.
type hypothesis struct {
	faults    []int // places in Model.faults; empty never: none/normal is a fault of its own
	variant   int
	prior     float64
	alike     []int // faults nothing tells this degree from, places in Model.faults
	setting   machine.Setting
	behaviour *machine.Behaviour
}

// pairsKept bounds the pairs of faults looked at; beyond it their prior is below
// anything a few readings could lift.
const pairsKept = 120

// possible lists the unit's faults, by id: those whose facts fit and whose parts it
// has.
func possible(base *knowledge.Base, m *machine.Machine) []string {
	var ids []string
	for _, id := range slices.Sorted(maps.Keys(base.Faults)) {
		f := base.Faults[id]
		fitted := slices.ContainsFunc(settings(f), func(s machine.Setting) bool { return m.Has(s.Modes) })
		if f.Weight > 0 && m.Fits(f.Needs) && fitted {
			ids = append(ids, id)
		}
	}
	return ids
}

// hypotheses builds and settles every hypothesis of the unit. The error names the
// fault that does not settle.
func hypotheses(base *knowledge.Base, m *machine.Machine, faults []string, pairShare float64) ([]hypothesis, error) {
	var hyps []hypothesis
	total := 0.0
	for _, id := range faults {
		total += base.Faults[id].Weight
	}
	for i, id := range faults {
		f := base.Faults[id]
		for v, setting := range settings(f) {
			if !m.Has(setting.Modes) {
				continue // a degree of a part this unit does not have
			}
			hyps = append(hyps, hypothesis{faults: []int{i}, variant: v, prior: f.Weight / total * share(f, v), alike: places(faults, f.AlikeIn(v)), setting: setting})
		}
	}
	hyps = append(hyps, pairs(base, faults, hyps, pairShare)...)
	for i := range hyps {
		b, err := m.Run(hyps[i].setting)
		if err != nil {
			return nil, fmt.Errorf("solving fault %s: %w", faults[hyps[i].faults[0]], err)
		}
		hyps[i].behaviour = b
	}
	return hyps, nil
}

// places are those of the faults named.
func places(faults []string, named map[string]string) []int {
	var out []int
	for i, id := range faults {
		if _, ok := named[id]; ok {
			out = append(out, i)
		}
	}
	return out
}

// settings gives a fault's degrees, one when it has no variants.
func settings(f *knowledge.Fault) []machine.Setting {
	if len(f.Variants) == 0 {
		return []machine.Setting{{Modes: f.Modes, Effects: f.Effects}}
	}
	var out []machine.Setting
	for _, v := range f.Variants {
		out = append(out, merge(machine.Setting{Modes: f.Modes, Effects: f.Effects}, machine.Setting{Modes: v.Modes, Effects: v.Effects}))
	}
	return out
}

func share(f *knowledge.Fault, variant int) float64 {
	if len(f.Variants) == 0 {
		return 1
	}
	total := 0.0
	for _, v := range f.Variants {
		total += v.Share
	}
	return f.Variants[variant].Share / total
}

func merge(a, b machine.Setting) machine.Setting {
	out := machine.Setting{Modes: map[string]string{}, Effects: slices.Concat(a.Effects, b.Effects)}
	maps.Copy(out.Modes, a.Modes)
	maps.Copy(out.Modes, b.Modes)
	return out
}

// pairs combines single hypotheses that can stand together: no shared part, no
// fault that is merely the other's consequence. The likeliest are kept. A
// fault's weight is its share of calls; that it stands beside another is rarer
// than that, by pairShare.
func pairs(base *knowledge.Base, faults []string, singles []hypothesis, pairShare float64) []hypothesis {
	var out []hypothesis
	for i := range singles {
		for j := i + 1; j < len(singles); j++ {
			a, b := &singles[i], &singles[j]
			if a.faults[0] == b.faults[0] || !together(base, faults[a.faults[0]], faults[b.faults[0]], a, b) {
				continue
			}
			out = append(out, hypothesis{
				faults: []int{a.faults[0], b.faults[0]}, prior: a.prior * b.prior * pairShare,
				setting: merge(a.setting, b.setting),
			})
		}
	}
	slices.SortStableFunc(out, func(x, y hypothesis) int { return cmp.Compare(y.prior, x.prior) })
	return out[:min(len(out), pairsKept)]
}

func together(base *knowledge.Base, a, b string, ha, hb *hypothesis) bool {
	fa, fb := base.Faults[a], base.Faults[b]
	if len(ha.setting.Modes)+len(ha.setting.Effects) == 0 || len(hb.setting.Modes)+len(hb.setting.Effects) == 0 {
		return false
	}
	if slices.Contains(fa.ConsequenceOf, b) || slices.Contains(fb.ConsequenceOf, a) {
		return false
	}
	for c := range ha.setting.Modes {
		if _, shared := hb.setting.Modes[c]; shared {
			return false
		}
	}
	return true
}
