package bot_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

// anaPhone is Ana's number; in the shop with phones it is all she has.
const anaPhone = "+13035550123"

// withPhones is the invented shop where Ana is reached by text message alone.
func withPhones() bot.Config {
	c := larkmoor()
	c.People["ana"].Identities = map[string]string{bot.Texts: anaPhone}
	c.Channels[bot.Texts] = bot.Channel{}
	return c
}

// texted is a text message from a number.
func (s *shop) texted(number, text string) bot.Inbound {
	s.n++
	return bot.Inbound{Channel: bot.Texts, ID: fmt.Sprint("in-", s.n), Conversation: number, From: number, Kind: bot.Said, Text: text, At: time.Now()}
}

func (s *shop) text(number, text string) string {
	s.t.Helper()
	return s.receive(s.texted(number, text))
}

func TestMoreGivesTheLastAnswerWhole(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		holds(t, s.text(anaPhone, "more"), "There is nothing more to it.")
		s.text(anaPhone, "outdoor unit dead, blower runs")
		answer, _ := s.phones.lastTo(anaPhone)
		require.Equal(t, "MORE for the rest.", answer.More)
		require.False(t, answer.Whole)
		s.restart(withPhones())
		s.text(anaPhone, "More.")
		whole, _ := s.phones.lastTo(anaPhone)
		require.True(t, whole.Whole)
		require.Equal(t, answer.Text, whole.Text)
		s.text(anaPhone, "el contactor no esta metido")
		answer, _ = s.phones.lastTo(anaPhone)
		require.Equal(t, "MÁS para el resto.", answer.More)
		s.text(anaPhone, "más")
		whole, _ = s.phones.lastTo(anaPhone)
		require.Equal(t, answer.Text, whole.Text)
		require.Len(t, s.OpenJobs(bot.Texts, anaPhone), 1, "it is no message to the job")
	})
}

// An adapter that hands everything it carries to the service again, before it says under
// which id it was delivered.
func TestAnEchoIsNotTakenBeforeItsDeliveryIsKnownEither(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.phones.sentTo(func(id string, m bot.Outbound) {
			for _, from := range []string{anaPhone, "U-Sam", "U-Dee"} {
				in := bot.Inbound{Channel: m.Channel, ID: id, Conversation: m.Conversation, From: from, Kind: bot.Said, Text: m.Text}
				require.NoError(t, s.Receive(t.Context(), in))
			}
		})
		sent := s.text(anaPhone, "outdoor unit dead, blower runs")
		require.Equal(t, 3, strings.Count(sent, "["), sent)
		thread := s.OpenJobs(channel, "U-Dee")[0].Place.Thread
		require.Equal(t, toAna+"Sam: mind the dog\n", s.say("Sam", thread, "mind the dog"))
	})
}

func TestAnEchoOfOurOwnIsNotTaken(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.text(anaPhone, "outdoor unit dead, blower runs")
		answer, id := s.phones.lastTo(anaPhone)
		echo := s.texted(anaPhone, answer.Text)
		echo.ID = id
		require.Empty(t, s.receive(echo))
	})
}
