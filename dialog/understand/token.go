package understand

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

type tokenKind uint8

const (
	wordToken tokenKind = iota
	numberToken
	markToken // a single punctuation mark or symbol
	lineToken // a line break
)

// token is one word, figure or mark of the message and where it stands.
type token struct {
	start, end int
	kind       tokenKind
	glued      bool // no space before it
	text       string
	id         int32 // number of the word in the vocabulary, unknown when none
	single     int32 // number of the word it is the plural of, 0 when it is none
}

const unknown int32 = -1

// tokenize splits a message. Figures keep their decimals and thousands; letters
// glued to a figure ("24v") become a word of their own; a word may hold figures
// after its first letter ("l1").
func tokenize(s string) []token {
	toks := make([]token, 0, len(s)/4+4)
	last := -1
	for i := 0; i < len(s); {
		r, size := utf8.DecodeRuneInString(s[i:])
		if r == '\n' {
			toks = append(toks, token{start: i, end: i + 1, kind: lineToken, text: "\n", id: unknown})
			i += size
			continue
		}
		if unicode.IsSpace(r) || r == utf8.RuneError || unicode.IsControl(r) {
			i += size
			continue
		}
		t := token{start: i, glued: i == last, id: unknown}
		switch {
		case isWide(r), vulgar(r) != "":
			t.kind = numberToken
			t.end, t.text = wideEnd(s, i)
		case isDigit(r), r == '.' && i+1 < len(s) && isDigit(rune(s[i+1])) && !endsInDigit(toks, i) && (i == 0 || s[i-1] != '.'):
			t.kind, t.end = numberToken, exponentEnd(s, figureEnd(s, i))
			t.text = s[i:t.end]
		case isLetter(r):
			t.kind, t.end = wordToken, wordEnd(s, i)
			t.text = fold(s[i:t.end])
		default:
			t.kind, t.end = markToken, i+size
			t.text = foldMark(s[i:t.end])
		}
		toks = append(toks, t)
		i, last = t.end, t.end
	}
	return toks
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// isWide tells a full-width digit, as some keyboards write them.
func isWide(r rune) bool { return r >= '０' && r <= '９' }

// vulgar is the decimal of a fraction written as one sign, "" when it is none.
func vulgar(r rune) string {
	switch r {
	case '½':
		return "0.5"
	case '¼':
		return "0.25"
	case '¾':
		return "0.75"
	}
	return ""
}

// wideEnd finds the end of full-width digits or of one fraction sign, and gives it
// in plain digits.
func wideEnd(s string, i int) (end int, text string) {
	r, size := utf8.DecodeRuneInString(s[i:])
	if v := vulgar(r); v != "" {
		return i + size, v
	}
	var b strings.Builder
	for i < len(s) {
		r, size = utf8.DecodeRuneInString(s[i:])
		switch {
		case isWide(r):
			b.WriteRune(r - '０' + '0')
		case r == '．' && b.Len() > 0 && !strings.Contains(b.String(), "."):
			b.WriteByte('.')
		default:
			return i, strings.TrimSuffix(b.String(), ".")
		}
		i += size
	}
	return i, strings.TrimSuffix(b.String(), ".")
}

// exponentEnd takes in the exponent a program prints: 4.8e-09.
func exponentEnd(s string, i int) int {
	if i >= len(s) || s[i] != 'e' && s[i] != 'E' {
		return i
	}
	j := i + 1
	if j < len(s) && (s[j] == '-' || s[j] == '+') {
		j++
	}
	first := j
	for j < len(s) && isDigit(rune(s[j])) {
		j++
	}
	if j == first || j-first > 3 || j < len(s) && isLetter(rune(s[j])) || first == i+1 && !strings.Contains(s[max(0, i-8):i], ".") {
		return i
	}
	return j
}

func isLetter(r rune) bool { return unicode.IsLetter(r) || r == 'µ' || r == 'Ω' }

func endsInDigit(toks []token, at int) bool {
	return len(toks) > 0 && toks[len(toks)-1].end == at && toks[len(toks)-1].kind == numberToken
}

// figureEnd finds the end of digits with thousands commas and one decimal point.
func figureEnd(s string, i int) int {
	digits := func(i int) int {
		for i < len(s) && isDigit(rune(s[i])) {
			i++
		}
		return i
	}
	start := i
	i = digits(i)
	// "118,410" is two pressures; only a short first group is thousands.
	for i-start <= 2 && i > start && i+3 < len(s) && s[i] == ',' && digits(i+1) == i+4 {
		i += 4
		start = i
	}
	if i+1 < len(s) && s[i] == '.' && isDigit(rune(s[i+1])) {
		i = digits(i + 1)
	}
	return i
}

func wordEnd(s string, i int) int {
	for i < len(s) {
		r, size := utf8.DecodeRuneInString(s[i:])
		inner := r == '\'' || r == '’'
		if inner {
			next, _ := utf8.DecodeRuneInString(s[i+size:])
			if !unicode.IsLetter(next) {
				return i
			}
		} else if !isLetter(r) && !isDigit(r) && !unicode.Is(unicode.Mn, r) {
			return i
		}
		i += size
	}
	return i
}

// fold lowers a word and straightens its apostrophes.
func fold(s string) string {
	plain := true
	for i := 0; i < len(s); i++ {
		if c := s[i]; c >= utf8.RuneSelf || c >= 'A' && c <= 'Z' {
			plain = false
			break
		}
	}
	if plain {
		return s
	}
	return accents.Replace(strings.ToLower(s))
}

// accents are left off by half of those who type them.
var accents = strings.NewReplacer("’", "'", "á", "a", "é", "e", "í", "i", "ó", "o", "ú", "u", "ü", "u", "ñ", "n")

func foldMark(s string) string {
	switch s {
	case "’", "‘", "`":
		return "'"
	case "“", "”", "″":
		return `"`
	case "–", "—", "−", "‑":
		return "-"
	case "º", "˚":
		return "°"
	}
	return s
}
