package gsm_test

import (
	"os"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/adapters/sms/gsm"
)

// The outside reference is the table of Perl's Encode::GSM0338, character by character
// over the whole plane; how it was written stands at its head.
func TestTheAlphabetIsThatOfAnotherProgram(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("testdata/encode-gsm0338.txt")
	require.NoError(t, err)
	want := map[rune]int{}
	for line := range strings.Lines(string(text)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		point, code, ok := strings.Cut(strings.TrimSpace(line), " ")
		require.True(t, ok, line)
		r, err := strconv.ParseInt(point, 16, 32)
		require.NoError(t, err)
		want[rune(r)] = len(code) / 2
	}
	require.Len(t, want, 137, "127 characters and 10 of the extension table")
	for r := range rune(0x10000) {
		require.Equal(t, want[r], gsm.Septets(r), "%U", r)
	}
}

// 3GPP TS 23.040, clause 9.2.3.24.1 (from memory): 140 octets a part, 6 of them the
// header of a concatenated one; so 160 and 153 septets, 70 and 67 16-bit units.
func TestPartsHoldWhatTheNetworkCarries(t *testing.T) {
	t.Parallel()
	for text, want := range map[string][]int{
		"": {0}, strings.Repeat("a", 160): {160}, strings.Repeat("a", 161): {153, 8}, strings.Repeat("a", 306): {153, 153},
		strings.Repeat("a", 307): {153, 153, 1},
		// The extension table takes two septets each: 80 braces fill one message, and in
		// parts of 153 the last septet stays empty.
		strings.Repeat("{", 80): {80}, strings.Repeat("{", 81): {76, 5}, strings.Repeat("{", 153): {76, 76, 1},
		strings.Repeat("a", 152) + "€" + strings.Repeat("a", 8): {152, 9},
		strings.Repeat("á", 70):                                 {70}, strings.Repeat("á", 71): {67, 4}, strings.Repeat("á", 134): {67, 67}, strings.Repeat("á", 135): {67, 67, 1},
		// One character of two units is never split: 66 and the 35th would make 68.
		strings.Repeat("🔥", 35): {35}, strings.Repeat("🔥", 36): {33, 3}, "á" + strings.Repeat("🔥", 35): {34, 2},
		// One character outside the alphabet, and all are counted in units.
		strings.Repeat("a", 70) + "°": {67, 4}, "24 V, 28 µF, 75 °F {x}": {22},
	} {
		var got []int
		for _, part := range gsm.Parts(text) {
			got = append(got, utf8.RuneCountInString(part))
		}
		require.Equal(t, want, got, text)
		require.Equal(t, len(want), gsm.Count(text))
	}
}

func TestPartsAreTheTextAndFit(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.OneOf(rapid.RuneFrom([]rune("a{€ \n°á🔥")), rapid.Rune()), 0, 700, -1).Draw(t, "text")
		parts := gsm.Parts(text)
		require.Equal(t, text, strings.Join(parts, ""))
		for _, part := range parts {
			septets := 0
			for _, r := range part {
				septets += gsm.Septets(r)
			}
			switch n := len(utf16.Encode([]rune(part))); {
			case gsm.Default(text) && len(parts) == 1:
				require.LessOrEqual(t, septets, 160)
			case gsm.Default(text):
				require.LessOrEqual(t, septets, 153)
			case len(parts) == 1:
				require.LessOrEqual(t, n, 70)
			default:
				require.LessOrEqual(t, n, 67)
			}
		}
	})
}

func TestACutTextLosesOnlyWhatItWasCutAt(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOfN(rapid.RuneFrom([]rune("ab{€ \n°á🔥")), 0, 1500, -1).Draw(t, "text")
		most := rapid.IntRange(1, 4).Draw(t, "most")
		pieces := gsm.Cut(text, most)
		for _, piece := range pieces {
			require.LessOrEqual(t, gsm.Count(piece), most)
		}
		whole, bare := strings.Join(pieces, ""), strings.NewReplacer(" ", "", "\n", "")
		require.Equal(t, bare.Replace(text), bare.Replace(whole))
		require.Less(t, len(text)-len(whole), len(pieces), "at most one character at each cut")
	})
	require.Equal(t, []string{strings.Repeat("word ", 31) + "word", "word"}, gsm.Cut(strings.Repeat("word ", 32)+"word", 1))
}

func TestWhatIsRespeltFitsTheAlphabet(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]string{
		"Don’t – “28 µF” … 75 °F":                                `Don't - "28 uF" ... 75 F`,
		"¿Está el contactor adentro? Sí, mañana; presión máxima": "¿Esta el contactor adentro? Si, mañana; presion maxima",
		"3.4 kΩ ±3": "3.4 kΩ +/-3",
	} {
		require.Equal(t, want, gsm.Respell(text))
		require.True(t, gsm.Default(gsm.Respell(text)), text)
	}
	require.Equal(t, "75 °F, sí", gsm.Tidy("75 °F, sí"), "what others wrote keeps its signs")
}

func FuzzPartsJoinToTheText(f *testing.F) {
	f.Add("24 V at the yellow")
	f.Add(strings.Repeat("{", 90) + "\xff")
	f.Fuzz(func(t *testing.T, text string) {
		if parts := gsm.Parts(text); strings.Join(parts, "") != text {
			t.Fatalf("%q", parts)
		}
	})
}
