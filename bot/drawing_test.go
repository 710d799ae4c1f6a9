package bot_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestAJobsCircuitShowsWhatTheTalkHasProven(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "ac quit at the Alder house. blower runs, nothing running outside")
		s.receive(in)
		s.say("Ana", in.Starts, "contactor's out")
		s.say("Ana", in.Starts, "24 at the yellow, zip at the coil")

		d, err := s.Drawing(t.Context(), "dee", "J-1001")
		require.NoError(t, err)
		said := d.Description()
		good, _, _ := strings.Cut(said, "suspect:")
		require.NotContains(t, good, "compressor", "what the open contactor explains away is not proven")
		require.Contains(t, said, "Y where the cable reaches the outdoor unit 24 V", "measured")
		require.Contains(t, said, "the live side of the contactor coil 0 V")
		require.Regexp(t, "proven good: .*Y conductor of the cable", said)
		require.Regexp(t, "suspect: .*low-pressure switch [0-9]+ %", said)
		require.Regexp(t, "open now: .*contactor pole L1 to T1", said)
		require.NotContains(t, said, "AC volts:", "the pressure asked for is not read in the circuit")

		_, err = s.Drawing(t.Context(), "ben", "J-1001")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err), "another's job")
		_, err = s.Drawing(t.Context(), "dee", "J-9999")
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(err))
	})
}

func TestASwitchWithVoltsAcrossItIsNotProvenGood(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "no cooling, blower runs, nothing running outside, contactor's out, R-410A")
		s.receive(in)
		s.say("Ana", in.Starts, "24 across the low pressure switch")
		s.say("Ana", in.Starts, "18 psi on the low side standing, 85 out")
		d, err := s.Drawing(t.Context(), "dee", "J-1001")
		require.NoError(t, err)
		said := d.Description()
		marked := func(phrase string) string {
			_, of, _ := strings.Cut(said, phrase+": ")
			of, _, _ = strings.Cut(of, ".")
			return of
		}
		require.Contains(t, marked("proven good"), "Y conductor of the cable", "power came as far as the switch")
		require.NotContains(t, marked("proven good"), "low-pressure switch", "and no farther")
		require.Contains(t, marked("open now"), "low-pressure switch")
		require.NotRegexp(t, "low-pressure switch [0-9]{2,}", marked("suspect"), "lost charge holds it open: it is not to be changed")
		require.Contains(t, marked("measured"), "low-pressure switch 24 V")
	})
}

func TestAJobsCircuitShowsTheMeterWhereItIsAskedFor(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "no cooling, blower runs, outdoor unit dead, contactor's out")
		s.receive(in)
		d, err := s.Drawing(t.Context(), "ana", "J-1001")
		require.NoError(t, err)
		require.Contains(t, d.Description(), "AC volts: red ")
	})
}

func TestTheCircuitIsSentToWhoAsksForIt(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "no cooling, blower runs, outdoor unit dead, contactor's out")
		s.receive(in)
		asked := s.phones.last()
		require.Contains(t, asked.Buttons, bot.Button{Action: "say:diagram", Label: "Show the circuit"}, "what is asked is read in the circuit")
		s.say("Ana", in.Starts, "where do the leads go?")
		sent := s.phones.last()
		require.Equal(t, asked.Thread, sent.Thread)
		require.Contains(t, sent.Text, "AC volts: one lead on", "the words stand alone where no picture is shown")
		require.NotNil(t, sent.Drawing)
		require.Contains(t, sent.Drawing.Description(), "AC volts: red ")
		before := s.phones.tries()
		s.say("Ana", in.Starts, "why")
		require.Greater(t, s.phones.tries(), before)
		require.Nil(t, s.phones.last().Drawing)
	})
}
