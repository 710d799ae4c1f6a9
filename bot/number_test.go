package bot_test

import (
	"testing"

	"github.com/nyaruka/phonenumbers"
	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestANumberIsWrittenInOneWay(t *testing.T) {
	t.Parallel()
	for _, written := range []string{"+13035550123", "+1 303 555 0123", "(303) 555-0123", "303.555.0123", "1-303-555-0123", "tel:+1-303-555-0123"} {
		got, err := bot.E164(written, "US")
		require.NoError(t, err, written)
		require.Equal(t, "+13035550123", got)
	}
	for _, written := range []string{"", "U0ANA", "911", "+1 303 555", "+1303555012345"} {
		_, err := bot.E164(written, "US")
		require.Error(t, err, written)
	}
	_, err := bot.E164("3035550123", "")
	require.Error(t, err, "without a region the country code must be there")
}

// The example numbers are those of the library's own metadata, one a country.
func TestTheExampleNumberOfEveryCountryIsItself(t *testing.T) {
	t.Parallel()
	for region := range phonenumbers.GetSupportedRegions() {
		example := phonenumbers.GetExampleNumber(region)
		want := phonenumbers.Format(example, phonenumbers.E164)
		for _, form := range []phonenumbers.PhoneNumberFormat{phonenumbers.E164, phonenumbers.INTERNATIONAL, phonenumbers.NATIONAL} {
			got, err := bot.E164(phonenumbers.Format(example, form), region)
			require.NoError(t, err, region)
			require.Equal(t, want, got, region)
		}
	}
}

func TestANumberIsMaskedAndANameIsNot(t *testing.T) {
	t.Parallel()
	require.Equal(t, "…0123", bot.Masked("+13035550123"))
	require.Equal(t, "…0123", bot.Masked("(303) 555-0123"))
	for _, name := range []string{"U0ANA", "ana", "", "4711"} {
		require.Equal(t, name, bot.Masked(name))
	}
}
