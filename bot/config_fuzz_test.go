package bot_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/knowledge"
)

// FuzzAConfigurationIsReadOrItsMistakesNamed holds the law that any text at all is a
// sound configuration or gives mistakes that say what and how to mend it, twice alike.
func FuzzAConfigurationIsReadOrItsMistakesNamed(f *testing.F) {
	base, err := trade()
	require.NoError(f, err)
	f.Add(sound)
	for _, text := range []string{
		"", "~", "shop: &a [*a]", "people: {ana: ~}", "channels: {sms: ~}", "people: {ana: {role: 7}}", "? [a]\n: b", "a: |\n\tb", "%YAML 9\n---\na: b",
		"retention: {days: -1}", "learning: {since: soon}", "policy: {alarms: {on-call: ana}}", "--- a\n--- b", "\xff\xfe\x00", "shop: !!binary x",
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		path := filepath.Join(t.TempDir(), "shop.yaml")
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		know := func(string) (*knowledge.Base, error) { return base, nil }
		_, err := bot.ReadConfig(path, know, []string{channel})
		_, again := bot.ReadConfig(path, know, []string{channel})
		require.Equal(t, err, again)
		found, ok := errors.AsType[knowledge.Errors](err)
		require.True(t, ok || err == nil)
		for _, m := range found {
			require.NotEmpty(t, m.What)
			require.NotEmpty(t, m.Mend)
		}
	})
}
