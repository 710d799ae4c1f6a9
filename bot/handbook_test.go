package bot_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestTheHandbookSaysWhereEverythingIsKnownFrom(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		for _, language := range s.Languages() {
			h := s.Handbook(language)
			require.NotEmpty(t, h.Version)
			sum := 0.0
			for _, f := range h.Faults {
				require.NotEmpty(t, f.Source, f.ID)
				require.NotEmpty(t, f.Name, f.ID)
				sum += f.Share
			}
			require.InDelta(t, 1, sum, 1e-9)
			require.GreaterOrEqual(t, h.Faults[0].Share, h.Faults[1].Share)
			for _, m := range h.Measurements {
				require.NotEmpty(t, m.Source, m.ID)
				require.NotEmpty(t, m.Name, m.ID)
			}
			for _, u := range h.Units {
				svg, err := s.Wiring(language, u.ID)
				require.NoError(t, err)
				require.True(t, strings.HasPrefix(svg, "<svg "), u.ID)
				require.NotEmpty(t, u.Source, u.ID)
			}
		}
		require.NotEqual(t, s.Handbook("en").Faults[0].Repair, s.Handbook("es").Faults[0].Repair)
		_, err := s.Wiring("en", "gremlin")
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(err))
	})
}
