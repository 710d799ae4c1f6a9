package gsm

import "strings"

// alphabet is the default alphabet by code, without the escape at 1B; the form feed
// and the line feed are characters too.
const alphabet = "@£$¥èéùìòÇ\nØø\rÅå" +
	"Δ_ΦΓΛΩΠΨΣΘΞÆæßÉ" +
	" !\"#¤%&'()*+,-./" +
	"0123456789:;<=>?" +
	"¡ABCDEFGHIJKLMNO" +
	"PQRSTUVWXYZÄÖÑÜ§" +
	"¿abcdefghijklmno" +
	"pqrstuvwxyzäöñüà"

// extension is what follows the escape, each two septets.
const extension = "\f^{}\\[~]|€"

// Septets is how many septets a character takes in the default alphabet: 1, or 2 from
// the extension table, or 0 when it is in neither.
func Septets(r rune) int {
	switch {
	case strings.ContainsRune(alphabet, r):
		return 1
	case strings.ContainsRune(extension, r):
		return 2
	}
	return 0
}

// Default reports whether a text can be written in the default alphabet.
func Default(text string) bool {
	for _, r := range text {
		if Septets(r) == 0 {
			return false
		}
	}
	return true
}

// tidied replaces what a phone or an editor sets of itself for the character that was
// typed. Nothing is lost by it.
var tidied = strings.NewReplacer(
	"‘", "'", "’", "'", "‚", "'", "“", `"`, "”", `"`, "„", `"`,
	"–", "-", "—", "-", "−", "-", "‐", "-", "‑", "-", "…", "...", "•", "-",
	"\u00a0", " ", "\u202f", " ", "\u2009", " ", "\t", " ", "\u200b", "", "\ufeff", "",
)

// Tidy writes typographic quotes, dashes, dots and spaces as they are typed.
func Tidy(text string) string { return tidied.Replace(text) }

// respelt is how our own words are written where the alphabet lacks a character. Of
// the Spanish letters it has é, ñ, ü, ¿ and ¡; the others lose their accent, as in any
// text message, since with one of them a part holds 67 characters in place of 153.
var respelt = strings.NewReplacer(
	"á", "a", "í", "i", "ó", "o", "ú", "u", "Á", "A", "Í", "I", "Ó", "O", "Ú", "U",
	"°", "", "µ", "u", "μ", "u", "ω", "Ω", "±", "+/-", "×", "x", "²", "2", "³", "3", "½", "1/2", "≤", "<=", "≥", ">=",
)

// Respell writes our own words in the default alphabet as far as they read the same:
// 75 °F is 75 F. What other people wrote is not respelt.
func Respell(text string) string { return respelt.Replace(Tidy(text)) }
