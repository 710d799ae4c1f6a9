package refrigerant_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/rules/refrigerant"
)

func TestReadingsThatCannotBeRightTogetherAreQuestioned(t *testing.T) {
	t.Parallel()
	none := math.NaN()
	base := load(t)
	margins, err := refrigerant.NewMargins(base)
	require.NoError(t, err)
	table := tables(t)["R-410A"]
	for _, c := range []struct {
		rule                                     string
		suction, liquid, suctionLine, liquidLine float64 // psig, °F
		slips                                    []string
	}{
		{"a sound set raises none", 118, 410, 64, 98, nil},
		{"nothing taken raises none", none, none, none, none, nil},
		{"one gauge alone raises none", 118, none, 64, none, nil},
		{"saturated within the meters' error raises none", 118, 410, 38, 120, nil},
		{"suction above liquid", 410, 118, 64, 98, []string{"hoses swapped"}},
		{"neither line fits its pressure", 118, 410, 30, 140, []string{"refrigerant on the plate", "discharge line"}},
		{"lines swapped", 118, 410, 98, 64, []string{"probes swapped"}},
		{"lines alike at standstill raise none", 118, 300, 90, 88, nil},
		{"suction line below boiling", 118, 410, 20, 98, []string{"kPa"}},
		{"liquid line above condensing", 118, 410, 64, 180, []string{"discharge line"}},
	} {
		r := refrigerant.Readings{
			Suction: c.suction + refrigerant.StandardAtmosphere, Liquid: c.liquid + refrigerant.StandardAtmosphere,
			SuctionLine: c.suctionLine, LiquidLine: c.liquidLine,
		}
		doubts := table.Doubts(r, margins)
		require.Len(t, doubts, len(c.slips), c.rule)
		for i, slip := range c.slips {
			require.Contains(t, base.Phrases.Say("slip-"+doubts[i].ID), slip, c.rule)
			require.NotContains(t, base.Phrases.Say("doubt-"+doubts[i].ID, doubts[i].Figures...), "{", c.rule)
		}
	}
}
