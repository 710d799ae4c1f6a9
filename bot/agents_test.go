package bot_test

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

func TestShopsThatKnowTheSameShareAnAgentAndNoOthersDo(t *testing.T) {
	t.Parallel()
	base, err := trade()
	require.NoError(t, err)
	var agents bot.Agents
	open := func(change func(*bot.Config)) *bot.Service {
		store, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, store.Close()) })
		c := larkmoor()
		change(&c)
		require.NoError(t, agents.Make(base, c))
		s, err := bot.New(store, base, c, bot.Options{Agents: &agents})
		require.NoError(t, err)
		return s
	}
	one := open(func(*bot.Config) {})
	other := open(func(c *bot.Config) { c.Shop, c.Language, c.Equipment = "Wrenfield Cooling", "es", "split-cooling" })
	require.Same(t, one.Agent(), other.Agent())
	strict := open(func(c *bot.Config) { c.Policy.Confirm.All = true })
	require.NotSame(t, one.Agent(), strict.Agent())
	require.NotEqual(t, one.Version(), strict.Version())
	faults := []string{"run-capacitor/compressor-weak", "run-capacitor/fan-weak"}
	some := open(func(c *bot.Config) { c.Policy.Confirm.Faults = faults })
	require.NotSame(t, one.Agent(), some.Agent())
	require.Same(t, some.Agent(), open(func(c *bot.Config) { c.Policy.Confirm.Faults = []string{faults[1], faults[0]} }).Agent())
	require.Error(t, agents.Make(base, bot.Config{Equipment: "steam-engine"}))
}
