package sms_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/adapters/sms"
)

func TestTheDescriptionsShownAreSound(t *testing.T) {
	t.Parallel()
	kannel := described(t, "kannel.yaml")
	require.Equal(t, []string{"password"}, kannel.Secrets())
	generic := described(t, "generic.yaml")
	require.Equal(t, []string{"token", "webhook"}, generic.Secrets())
	require.Equal(t, 10, generic.Send.MostParts)
}

func TestEveryMistakeOfADescriptionIsToldAtOnce(t *testing.T) {
	t.Parallel()
	_, err := sms.ReadGateway("testdata/broken.yaml")
	require.Error(t, err)
	for _, mistake := range []string{
		`broken.yaml:3:3: receive/path: "sms" is no path`, "broken.yaml:4:3: receive/body: it is not said how the fields come in",
		`receive/fields/txt: there is no field "txt"`, "receive/fields: the field text is missing",
		"a text delivered twice could not be told from two alike", "a long text cannot be put together",
		`"the office" is no address`, "the answer says that it was taken", "anybody could say anything in anybody's name",
		`the status "ok" means delivered too`, "the secret has no name", "a signature is not written in rot13",
		"a request caught on the way could be played again", "a window is from a second to an hour", "leaves out the time or the body",
		"secrets and texts would cross the network in the open", "nothing is filled in for {recipient}", "{secret} names no secret",
		"the text itself is not sent", "it is not said to whom", "a receipt could not be told what it is of", "a field of a form is one value",
		"a text has from 1 to 255 parts",
	} {
		require.ErrorContains(t, err, mistake)
	}
}

func TestAKeyNobodyKnowsIsAMistakeWithItsPlace(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "gateway.yaml")
	require.NoError(t, os.WriteFile(path, []byte("name: x\nrecieve:\n  path: /sms\n"), 0o600))
	_, err := sms.ReadGateway(path)
	require.ErrorContains(t, err, "gateway.yaml:2:1")
	require.ErrorContains(t, err, "recieve")
}

func TestTheFormsOfATimeAreChecked(t *testing.T) {
	t.Parallel()
	generic, err := os.ReadFile("../../deploy/sms/generic.yaml")
	require.NoError(t, err)
	for format, sound := range map[string]bool{
		"unix": true, "unix-ms": true, "rfc3339": true, "2006-01-02 15:04:05": true, "02/01/06 15:04": true, "Mon, 02 Jan 2006 15:04:05 MST": true,
		"YYYY-MM-DD": false, "": false, "15:04": false,
	} {
		path := filepath.Join(t.TempDir(), "gateway.yaml")
		text := strings.Replace(string(generic), "time-format: rfc3339", "time-format: \""+format+"\"", 1)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		_, err := sms.ReadGateway(path)
		require.Equal(t, sound, err == nil, "%s: %v", format, err)
	}
}

func TestAMissingSecretIsNamed(t *testing.T) {
	t.Parallel()
	_, err := sms.New(nil, sms.Options{Gateway: described(t, "generic.yaml"), Number: shop})
	require.ErrorContains(t, err, "the secret token")
	secrets := map[string]string{"token": "t", "webhook": "w"}
	_, err = sms.New(nil, sms.Options{Gateway: described(t, "generic.yaml"), Number: "larkmoor", Secrets: secrets})
	require.ErrorContains(t, err, "the shop's own number")
	_, err = sms.New(nil, sms.Options{Gateway: described(t, "generic.yaml"), Number: shop, Secrets: secrets})
	require.ErrorContains(t, err, "no folder is named")
}
