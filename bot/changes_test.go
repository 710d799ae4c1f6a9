package bot_test

import (
	"context"
	"testing"
	"testing/synctest"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

// toldOnce says whether a change was told, and takes it.
func toldOnce(c <-chan struct{}) bool {
	synctest.Wait()
	select {
	case <-c:
		return true
	default:
		return false
	}
}

func TestWhoLooksIsToldOfChangesOfWhatHeLooksAt(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		first, second := s.inbound("Ana", "", "outdoor unit dead, blower runs"), s.inbound("Ben", "", "outdoor unit dead, blower runs")
		s.receive(first)
		s.receive(second)
		ctx, leave := context.WithCancel(t.Context())
		job, err := s.Changes(ctx, "dee", "J-1001")
		require.NoError(t, err)
		board, err := s.Changes(ctx, "dee", "")
		require.NoError(t, err)

		require.False(t, toldOnce(job), "nothing has changed yet")
		s.say("Ben", second.Starts, "27 at the yellow outside")
		require.False(t, toldOnce(job), "that was another job")
		require.True(t, toldOnce(board))

		s.say("Ana", first.Starts, "27 at the yellow outside")
		s.say("Ana", first.Starts, "0 at the coil")
		require.True(t, toldOnce(job))
		require.False(t, toldOnce(job), "two changes nobody looked at are told as one")
		require.True(t, toldOnce(board))

		leave()
		synctest.Wait()
		s.say("Ana", first.Starts, "contactor isnt pulled in")
		require.False(t, toldOnce(job), "he has left")

		_, err = s.Changes(t.Context(), "ben", "J-1001")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err))
		_, err = s.Changes(t.Context(), "ben", "J-4711")
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(err))
		_, err = s.Changes(t.Context(), "nobody", "")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err))
	})
}

func TestTheMinutesToTheCallAreWorkedOutForWhoLooks(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(in)
		board, err := s.Changes(t.Context(), "dee", "")
		require.NoError(t, err)
		row := func() bot.Row {
			t.Helper()
			b, err := s.Board("dee")
			require.NoError(t, err)
			require.Len(t, b.Jobs, 1)
			return b.Jobs[0]
		}
		require.Negative(t, row().ToCall)
		require.True(t, toldOnce(board))
		first := row().ToCall
		require.Positive(t, first)
		require.False(t, toldOnce(board), "it is worked out once")
		for _, text := range []string{"contactor isnt pulled in", "24 at the yellow, zip at the coil", "nothing past the low pressure switch"} {
			s.say("Ana", in.Starts, text)
		}
		row()
		synctest.Wait()
		require.Less(t, row().ToCall, first)
		s.say("Ana", in.Starts, "both gauges 250 with it off")
		require.True(t, row().Called)
		require.Negative(t, row().ToCall, "it has its call")
	})
}
