package bot_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/knowledge"
)

const sound = `shop: Larkmoor Heating & Air
time-zone: America/Chicago
people:
  ana: {name: Ana Reyes, role: technician, identities: {shopchat: U1}, instruments: [multimeter]}
  sam: {name: Sam Okoro, role: senior, identities: {shopchat: U2}}
channels:
  shopchat:
    conversation: C1
    secrets:
      token: {env: SHOP_TOKEN}
`

func readConfig(t *testing.T, text string) (bot.Config, error) {
	t.Helper()
	base, err := trade()
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "shop.yaml")
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	c, err := bot.ReadConfig(path, func(string) (*knowledge.Base, error) { return base, nil }, []string{channel, bot.Texts, bot.Web})
	if err != nil {
		return c, &trimmed{strings.ReplaceAll(err.Error(), path, "shop.yaml")}
	}
	return c, nil
}

type trimmed struct{ text string }

func (e *trimmed) Error() string { return e.text }

func TestASoundConfigurationIsRead(t *testing.T) {
	t.Parallel()
	c, err := readConfig(t, sound)
	require.NoError(t, err)
	require.Equal(t, "Larkmoor Heating & Air", c.Shop)
	require.Equal(t, bot.TechnicianRole, c.People["ana"].Role)
	require.Equal(t, "SHOP_TOKEN", c.Channels[channel].Secrets["token"].Env)
}

func TestNumbersAreWrittenInOneWayWhenTheConfigurationIsRead(t *testing.T) {
	t.Parallel()
	for _, written := range []string{`"+1 303 555 0123"`, `"(303) 555-0123"`, "+13035550123", "3035550123"} {
		c, err := readConfig(t, strings.NewReplacer("shopchat: U1", "shopchat: U1, sms: "+written, "channels:", "channels:\n  sms: {settings: {region: US}}").Replace(sound))
		require.NoError(t, err, written)
		require.Equal(t, "+13035550123", c.People["ana"].Identities[bot.Texts])
	}
}

func TestAPersonMayBeKnownToAProviderWhereThereArePages(t *testing.T) {
	t.Parallel()
	withPages := strings.NewReplacer("shopchat: U2", "shopchat: U2, oidc: sam@larkmoor.example", "channels:", "channels:\n  web: {}").Replace(sound)
	c, err := readConfig(t, withPages)
	require.NoError(t, err)
	require.Equal(t, "sam@larkmoor.example", c.People["sam"].Identities[bot.OIDC])
	_, err = readConfig(t, strings.Replace(withPages, "shopchat: U1", "shopchat: U1, oidc: sam@larkmoor.example", 1))
	require.ErrorContains(t, err, "this is ana too")
	_, err = readConfig(t, strings.Replace(withPages, "\n  web: {}", "", 1))
	require.ErrorContains(t, err, "the shop has no channel \"oidc\"")
}

func TestEveryMistakeInAConfigurationIsNamedWithItsMend(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ old, now, want string }{
		"unknown key":       {"time-zone:", "timezone:", "shop.yaml:2:1: unknown field \"timezone\""},
		"no yaml":           {"people:", "people: [", "shop.yaml:"},
		"time zone":         {"America/Chicago", "America/Larkmoor", "shop.yaml:2:1: time-zone: reading the time zone"},
		"no shop":           {"shop: Larkmoor Heating & Air", "shop: \"\"", "the shop has no name"},
		"role":              {"role: technician", "role: boss", "people/ana/role: there is no role \"boss\"; write technician, senior"},
		"nobody confirms":   {"role: senior", "role: owner", "there is no senior"},
		"twice":             {"shopchat: U2", "shopchat: U1", "people/sam/identities/shopchat: this is ana too"},
		"no such channel":   {"{shopchat: U2}", "{pigeon: U2}", "shop.yaml:5:53: people/sam/identities/pigeon: the shop has no channel"},
		"instrument":        {"[multimeter]", "[hammer]", "no reading is taken with \"hammer\"; write some of: "},
		"shop's language":   {"shop: Larkmoor", "language: fr\nshop: Larkmoor", "nobody is answered in \"fr\" yet"},
		"language":          {"name: Ana Reyes", "name: Ana Reyes, language: fr", "nobody is answered in \"fr\" yet"},
		"adapter":           {"  shopchat:\n    conv", "  pigeon:\n    conv", "there is no channel \"pigeon\""},
		"secret nowhere":    {"{env: SHOP_TOKEN}", "{}", "channels/shopchat/secrets/token: a secret is kept in"},
		"secret in sight":   {"    secrets:", "    settings: {token: abc}\n    secrets:", "a secret stands in the configuration"},
		"fault":             {"channels:", "policy: {confirm: {faults: [gremlin/loose]}}\nchannels:", "there is no fault \"gremlin/loose\""},
		"on call":           {"channels:", "policy: {alarms: {on-call: ana}}\nchannels:", "\"ana\" is no senior of the shop"},
		"retention":         {"channels:", "retention: {days: -1}\nchannels:", "retention/days: closed jobs"},
		"nothing in it":     {sound, "# nothing\n", "holds no configuration"},
		"no number":         {"identities: {shopchat: U1}", "identities: {shopchat: U1, sms: \"12\"}", "people/ana/identities/sms: 12 is no phone number"},
		"bridge nowhere":    {"  shopchat:\n    conv", "  sms: {settings: {bridge: pigeon}}\n  shopchat:\n    conv", "channels/sms/settings/bridge: \"pigeon\" is no other channel"},
		"bridge of a room":  {"    conversation: C1", "    conversation: C1\n    settings: {bridge: sms}\n  sms:\n    conversation: C2", "channels/shopchat/settings/bridge: a channel with a room"},
		"bridge to no room": {"    conversation: C1", "    settings: {x: y}\n  sms: {settings: {bridge: shopchat}}\n  shopchat2:", "channels/sms/settings/bridge: the channel shopchat has no room"},
		"quiet hours":       {"channels:", "policy: {quiet-hours: {from: \"9 pm\", to: \"06:00\"}}\nchannels:", "policy/quiet-hours: \"9 pm\" is no time of day"},
		"no quiet hours":    {"channels:", "policy: {quiet-hours: {from: \"21:00\", to: \"21:00\"}}\nchannels:", "policy/quiet-hours: they begin when they end"},
		"a person of blank": {"  sam:", "  kim:\n  sam:", "people/kim: nothing is said"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			require.Contains(t, sound, c.old)
			_, err := readConfig(t, strings.Replace(sound, c.old, c.now, 1))
			require.ErrorContains(t, err, c.want)
		})
	}
}

func TestASecretIsReadFromWhereItIsKept(t *testing.T) {
	t.Setenv("SHOP_TOKEN", "hush")
	got, err := bot.Secret{Env: "SHOP_TOKEN"}.Read()
	require.NoError(t, err)
	require.Equal(t, "hush", got)
	path := filepath.Join(t.TempDir(), "token")
	require.NoError(t, os.WriteFile(path, []byte("hush\n"), 0o600))
	got, err = bot.Secret{File: path}.Read()
	require.NoError(t, err)
	require.Equal(t, "hush", got)
	for _, s := range []bot.Secret{{}, {Env: "SHOP_TOKEN_NOT"}, {File: path + "-not"}} {
		_, err := s.Read()
		require.Error(t, err)
	}
}
