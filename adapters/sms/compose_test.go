package sms_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/adapters/sms"
	"proveout/adapters/sms/gsm"
	"proveout/bot"
)

const more = "MORE for the rest."

func answer(lines ...bot.Line) *bot.Outbound {
	var text []string
	for _, l := range lines {
		text = append(text, l.Text)
	}
	return &bot.Outbound{Text: strings.Join(text, "\n"), Reply: &bot.Reply{Lines: lines}, More: more}
}

func TestAnAnswerThatFitsIsWhole(t *testing.T) {
	t.Parallel()
	require.Equal(t, "Read as: 75 F.\nNext: read the suction pressure.", sms.Compose(answer(
		bot.Line{Part: bot.Heard, Text: "Read as: 75 °F."}, bot.Line{Part: bot.Next, Text: "Next: read the suction pressure."},
	)))
}

func TestWhatMustBeSaidIsSaidInBriefAndTheRestWaits(t *testing.T) {
	t.Parallel()
	long := strings.Repeat("a long sentence that says it all, ", 5) + "and ends."
	m := answer(
		bot.Line{Part: bot.Verdict, Text: "Call: shorted coil."}, bot.Line{Part: bot.Proof, Text: "Proof: " + long},
		bot.Line{Part: bot.Next, Text: "Read it again. " + long, Brief: "Read it again."}, bot.Line{Part: bot.Next, Text: "Repair. " + long},
		bot.Line{Part: bot.Next, Text: "Text done."}, bot.Line{Part: bot.Caution, Text: "Power off. " + long, Brief: "Power off."},
	)
	require.Equal(t, "Call: shorted coil.\nRead it again. "+long+"\nPower off.\n"+more, sms.Compose(m))
	require.NotContains(t, sms.Compose(m), "Text done.", "a step stands only where those before it do")
	m.Whole = true
	require.Equal(t, gsm.Respell(m.Text), sms.Compose(m), "asked for, all of it is said")
}

func TestWhatMustBeSaidIsSaidWereItThreeParts(t *testing.T) {
	t.Parallel()
	hazard := strings.Repeat("get out ", 45)
	require.Equal(t, strings.TrimSpace(hazard), sms.Compose(answer(bot.Line{Part: bot.Safety, Text: hazard})))
}

func TestWhatAPersonWroteIsLeftAsItIs(t *testing.T) {
	t.Parallel()
	text := strings.Repeat("Sam: mídelo a 75 °F, 28 µF. ", 20)
	require.Equal(t, text, sms.Compose(&bot.Outbound{Text: text, Quoted: true}))
	require.Equal(t, "Diagnostico a 75 F", sms.Compose(&bot.Outbound{Text: "Diagnóstico a 75 °F"}), "our own words are respelt")
}

func TestAnAnswerKeepsItsOrderAndItsDangers(t *testing.T) {
	t.Parallel()
	parts := []bot.Part{bot.Safety, bot.Heard, bot.Question, bot.Explained, bot.Table, bot.Proves, bot.Verdict, bot.Proof, bot.Next, bot.How, bot.Means, bot.Caution}
	rapid.Check(t, func(r *rapid.T) {
		var lines []bot.Line
		musts, first := 0, map[bot.Part]bool{}
		for range rapid.IntRange(1, 12).Draw(r, "lines") {
			l := bot.Line{Part: rapid.SampledFrom(parts).Draw(r, "part"), Text: rapid.StringMatching(`[a-z]{2,9}( [a-z]{2,9}){0,20}[;.]`).Draw(r, "text")}
			if rapid.Bool().Draw(r, "briefly") {
				l.Brief = rapid.StringMatching(`[A-Z]{2,6}`).Draw(r, "brief")
			}
			lines = append(lines, l)
		}
		text := sms.Compose(answer(lines...))
		at := 0
		for _, l := range lines {
			must := l.Part == bot.Safety || l.Part == bot.Caution || (l.Part == bot.Next || l.Part == bot.Verdict) && !first[l.Part]
			first[l.Part] = true
			for _, way := range []string{l.Text, l.Brief} {
				if i := strings.Index(text[at:], way); i >= 0 && way != "" {
					at += i
					must = false
					break
				}
			}
			require.False(t, must, "%q is not in %q", l.Text, text)
			if l.Part == bot.Safety || l.Part == bot.Caution {
				musts++
			}
		}
		if musts == 0 {
			require.LessOrEqual(t, gsm.Count(text), 3)
		}
	})
}
