package bot

import (
	"fmt"
	"strings"

	"github.com/nyaruka/phonenumbers"
)

// E164 writes a phone number as people and gateways do in the one way ITU-T E.164
// gives it, +13035550123; a number without a country code is of the region, such as
// US. It need not be in use: only its length and country are looked at, since invented
// numbers and new area codes are numbers too.
func E164(number, region string) (string, error) {
	n, err := phonenumbers.Parse(number, region)
	if err != nil {
		return "", fmt.Errorf("%s is no phone number: %w", Masked(number), err)
	}
	if !phonenumbers.IsPossibleNumber(n) {
		return "", fmt.Errorf("%s is no phone number: it has too few or too many digits for its country", Masked(number))
	}
	return phonenumbers.Format(n, phonenumbers.E164), nil
}

// Masked is a phone number for those who have no need of it: its last four digits.
// What is no phone number stays as it is.
func Masked(identity string) string {
	var digits []rune
	for _, r := range identity {
		switch {
		case r >= '0' && r <= '9':
			digits = append(digits, r)
		case !strings.ContainsRune("+ ().-/", r):
			return identity
		}
	}
	const shown = 4
	if len(digits) < 7 { // nobody's own number is shorter
		return identity
	}
	return "…" + string(digits[len(digits)-shown:])
}
