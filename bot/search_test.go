package bot_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestJobsAreFoundByAllThatIsKnownOfThem(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		s.say("Sam", thread, "override, it is an open wire at the contactor coil")
		s.say("Ana", thread, "close the job")
		in := s.inbound("Ben", "", "outdoor unit dead on Dorset Row, blower runs")
		s.receive(in)
		s.restart(larkmoor())
		found := func(viewer, text string) []string {
			t.Helper()
			got, err := s.Search(t.Context(), viewer, text)
			require.NoError(t, err)
			out := []string{}
			for _, f := range got {
				out = append(out, f.Job)
			}
			return out
		}
		for text, want := range map[string][]string{
			"fenwick": {"J-1001"}, "12 Fenwick, ana": {"J-1001"}, "j-1002": {"J-1002"}, "dors": {"J-1002"}, "blower": {"J-1002", "J-1001"},
			"fenwick dorset": {}, "nobody said that": {}, "": {}, "--- \" *": {}, "override coil": {"J-1001"},
		} {
			require.Equal(t, want, found("dee", text), text)
		}
		require.Equal(t, []string{"J-1002"}, found("ben", "blower"), "a technician finds his own")
		closed, err := s.Search(t.Context(), "sam", "fenwick contactor coil")
		require.NoError(t, err)
		require.Len(t, closed, 1)
		require.Equal(t, "Closed", closed[0].StatusText)
		require.Equal(t, "open wire at the contactor coil", closed[0].Cause)
		require.Equal(t, "J-1001", closed[0].Job)
		require.Equal(t, []string{"J-1001"}, found("sam", "bobina del contactor"), "in any language")
		_, err = s.Search(t.Context(), "mallory", "blower")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err))
	})
}
