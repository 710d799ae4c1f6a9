package bot_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestEachIsAnsweredInHisLanguage(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["ben"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		holds(t, s.say("Ana", "", "outdoor unit dead, blower runs"), "Read as:", "Next:")
		holds(t, s.say("Ben", "", "outdoor unit dead, blower runs"), "Leído:", "Sigue:") // as it is set for him
		s.restart(config)
		holds(t, s.say("Ana", "", "el contactor no esta metido"), "Leído:", "Sigue:") // as he writes
		require.Contains(t, s.phones.got[len(s.phones.got)-1].out.Buttons, bot.Button{Action: "say:why", Label: "¿Por qué?"})
		holds(t, s.press("Ana", "tAna-1", "say:why"), "Sigue:") // a button's words are not his
	})
}

func TestCommandsAreAnsweredToWhoGaveThem(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		holds(t, s.press("Ana", "", "status"), "No open jobs.")
		holds(t, s.press("Ana", "", "help"), "Text what you see and read")
		holds(t, s.press("Ana", "", "new"), "Tell me what the unit does")
		require.Empty(t, s.OpenJobs(channel, "U-Ana"))
		in := s.inbound("Ana", "", "no cooling on Quarry Lane, blower runs")
		in.Kind, in.Action = bot.Pressed, "new"
		holds(t, s.receive(in), "Read as:")
		s.say("Ben", "", "outdoor unit dead, blower runs")
		require.Contains(t, s.press("Ben", "", "status"), "1 open\nJ-1002 Ben")
		require.Contains(t, s.press("Dee", "", "status"), "2 open")
	})
}
