package bot_test

import (
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/knowledge"
)

func TestTheShopsOwnKnowledgeIsToldWithItsAge(t *testing.T) {
	t.Parallel()
	base, err := knowledge.Load(knowledge.Embedded(), fstest.MapFS{"equipment/own.yaml": {Data: []byte("own: {name: own unit, extends: split-cooling, source: wiring label}\n")}})
	require.NoError(t, err)
	changed := time.Date(2026, 7, 1, 9, 0, 0, 0, time.UTC)
	s, err := bot.New(nil, base, larkmoor(), bot.Options{
		Checked: func() []string { return []string{"a warning"} },
		Changed: func(string) time.Time { return changed },
	})
	require.NoError(t, err)
	own := s.OwnKnowledge()
	require.Equal(t, []bot.OwnFile{{Name: "equipment/own.yaml", Changed: changed}}, own.Files)
	require.Equal(t, []string{"a warning"}, own.Checked)

	plain, err := trade()
	require.NoError(t, err)
	s, err = bot.New(nil, plain, larkmoor(), bot.Options{})
	require.NoError(t, err)
	require.Empty(t, s.OwnKnowledge().Files)
}
