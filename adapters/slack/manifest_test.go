package slack_test

import (
	"os"
	"testing"

	"github.com/goccy/go-yaml"
	"github.com/stretchr/testify/require"
)

// What the adapter hears and calls must stand in the manifest people make the app
// from, and nothing it does not.
func TestTheManifestAsksForWhatTheAdapterUses(t *testing.T) {
	t.Parallel()
	src, err := os.ReadFile("../../deploy/slack/manifest.yaml")
	require.NoError(t, err)
	m := struct {
		Features struct {
			Home struct {
				Tab bool `yaml:"home_tab_enabled"`
			} `yaml:"app_home"`
			Commands []struct{ Command string } `yaml:"slash_commands"`
		}
		OAuth struct {
			Scopes struct{ Bot []string }
		} `yaml:"oauth_config"`
		Settings struct {
			Events struct {
				Bot []string `yaml:"bot_events"`
			} `yaml:"event_subscriptions"`
			Interactivity struct {
				Enabled bool `yaml:"is_enabled"`
			}
			Socket bool `yaml:"socket_mode_enabled"`
		}
	}{}
	require.NoError(t, yaml.Unmarshal(src, &m))
	require.True(t, m.Features.Home.Tab)
	require.True(t, m.Settings.Interactivity.Enabled)
	require.True(t, m.Settings.Socket)
	require.Len(t, m.Features.Commands, 1)
	require.Equal(t, "/proveout", m.Features.Commands[0].Command)
	require.Equal(t, []string{"app_home_opened", "app_mention", "message.channels", "message.groups", "message.im"}, m.Settings.Events.Bot)
	require.Equal(t, []string{
		"app_mentions:read", "channels:history", "chat:write", "commands", "files:read", "files:write", "groups:history", "im:history",
		"metadata.message:read", "users:read",
	}, m.OAuth.Scopes.Bot)
}
