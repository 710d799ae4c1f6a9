package bot_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// recorded is every event of a job in the shop's record.
func (s *shop) recorded(job string) []bot.Event {
	s.t.Helper()
	look, err := sqlite.Open(s.t.Context(), s.path, sqlite.Options{ReadOnly: true})
	require.NoError(s.t, err)
	_, events, err := look.Read(s.t.Context(), job, true)
	require.NoError(s.t, err)
	require.NoError(s.t, look.Close())
	return events
}

func TestEveryAnswerCanBeWorkedOutAgain(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		wrong := s.inbound("Ana", thread, "suction 12")
		s.receive(wrong)
		edit := s.inbound("Ana", thread, "suction 120")
		edit.Kind, edit.Of = bot.Edited, wrong.ID
		s.receive(edit)
		s.say("Sam", thread, "I'll take it")
		s.say("Ana", thread, "ok, shell is still cold")
		s.restart(larkmoor())
		s.say("Sam", thread, "hand back")
		s.say("Sam", thread, "override, it is the compressor's run capacitor")
		s.say("Ana", thread, "why")

		events := s.recorded("J-1001")
		found, answers, err := bot.Replay(s.Agent(), s.Version(), events)
		require.NoError(t, err)
		require.Empty(t, found)
		require.Greater(t, answers, 10)

		at := slices.IndexFunc(events, func(e bot.Event) bool { return e.Kind == bot.EventAnswered })
		events[at].Text += " Change the compressor."
		found, _, err = bot.Replay(s.Agent(), s.Version(), events)
		require.NoError(t, err)
		require.Len(t, found, 1)
		require.False(t, found[0].Explained)
		found, _, err = bot.Replay(s.Agent(), "another", events)
		require.NoError(t, err)
		require.True(t, found[0].Explained, "it was given by other knowledge")
	})
}
