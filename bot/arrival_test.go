package bot_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

// receipt is what the gateway says became of the message it has an id of.
func (s *shop) receipt(id, became, reason string) bot.Inbound {
	s.n++
	return bot.Inbound{Channel: bot.Texts, ID: fmt.Sprint("r-", s.n), Kind: bot.Receipt, Of: id, Action: became, Text: reason, At: time.Now()}
}

func TestWhatDidNotArriveIsOnTheBoardUntilItDoes(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.text(anaPhone, "outdoor unit dead, blower runs")
		_, id := s.phones.lastTo(anaPhone)
		require.Empty(t, s.receive(s.receipt(id, bot.Arrived, "")))
		require.Empty(t, s.Undelivered(), "most arrive")

		s.text(anaPhone, "27 at the yellow outside")
		_, id = s.phones.lastTo(anaPhone)
		failed := s.receipt(id, bot.Failed, "absent subscriber")
		holds(t, s.receive(failed), "[@U-Dee] A message to Ana did not arrive (absent subscriber): Read as: 27 V")
		require.Empty(t, s.receive(failed), "once")
		require.Empty(t, s.receive(s.receipt(id, bot.Failed, "expired")), "once for each message")
		s.restart(withPhones())
		un := s.Undelivered()
		require.Len(t, un, 1)
		require.Equal(t, "J-1001 Ana ana absent subscriber", strings.Join([]string{un[0].Job, un[0].To, un[0].Person, un[0].Reason}, " "))
		holds(t, s.say("Dee", "", "status"), "1 open\nJ-1001 Ana, measuring", "\nJ-1001 not delivered to Ana at ", ": absent subscriber")
		board, err := s.Board("dee")
		require.NoError(t, err)
		require.Len(t, board.Undelivered, 1)

		s.receive(s.receipt(id, bot.Arrived, ""))
		require.Empty(t, s.Undelivered())
		require.NotContains(t, s.say("Dee", "", "status"), "not delivered")
	})
}

func TestAReceiptMayComeBeforeTheDeliveryIsNoted(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.phones.failBy(func(n int, m bot.Outbound) error {
			if m.Channel == bot.Texts { // the gateway tells before it answers
				require.NoError(t, s.Receive(t.Context(), bot.Inbound{Channel: bot.Texts, ID: "early", Kind: bot.Receipt, Of: fmt.Sprint("x", n), Action: bot.Failed, Text: "no route"}))
			}
			return nil
		})
		holds(t, s.text(anaPhone, "outdoor unit dead, blower runs"), "did not arrive (no route)")
		require.Len(t, s.Undelivered(), 1)
		require.Empty(t, s.receive(s.receipt("nobody's", bot.Failed, "no route")), "what is not ours concerns nobody")
	})
}

func TestWhatIsGivenUpIsShownWithItsReason(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.phones.failBy(func(_ int, m bot.Outbound) error {
			if m.Channel == bot.Texts || m.To == "U-Sam" {
				return &bot.DeliveryError{Reason: "rejected", Err: errors.New("no")}
			}
			return nil
		})
		s.text(anaPhone, "outdoor unit dead, blower runs. senior please")
		un := s.Undelivered()
		require.Len(t, un, 2)
		for _, u := range un {
			require.Equal(t, "rejected", u.Reason)
			require.NotContains(t, u.To, "555")
		}
		s.press("Sam", "", "status")
		s.phones.failBy(func(int, bot.Outbound) error { return &bot.DeliveryError{Reason: "rejected", Err: errors.New("no")} })
		s.press("Dee", "", "status")
		time.Sleep(25 * time.Hour)
		for _, u := range s.Undelivered() {
			require.NotEmpty(t, u.Job, "what is about no job is shown for a day")
		}
	})
}

func TestWhoSaysStopIsSentNothingMoreButOneConfirmation(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		stop := s.texted(anaPhone, "STOP")
		stop.Kind, stop.Action = bot.Consent, bot.Stop
		holds(t, s.receive(stop), toAna+"Larkmoor Heating & Air: you get no more texts from us.", "[@U-Dee] Ana wants no more messages on sms")
		require.Empty(t, s.receive(stop))
		again := s.texted(anaPhone, "stop")
		again.Kind, again.Action = bot.Consent, bot.Stop
		require.Empty(t, s.receive(again), "one confirmation")
		s.restart(withPhones())
		sent := s.text(anaPhone, "27 at the yellow outside")
		require.NotContains(t, sent, toAna)
		holds(t, sent, inThread(thread)+"Ana: 27 at the yellow outside") // it is taken down all the same
		require.NotContains(t, sent, "[@U-Dee]", "he is told once")
		require.NotContains(t, s.say("Sam", thread, "mind the dog"), toAna)
		require.Len(t, s.Undelivered(), 2)
		require.Equal(t, "stopped", s.Undelivered()[0].Reason)
		start := s.texted(anaPhone, "START")
		start.Kind, start.Action = bot.Consent, bot.Start
		holds(t, s.receive(start), toAna+"Larkmoor Heating & Air: you get our texts again.")
		holds(t, s.text(anaPhone, "more"), toAna+"Read as: 27 V")
		holds(t, s.text(anaPhone, "0 at the coil"), toAna+"Read as")
	})
}

func TestHelpSaysWhoThisIsAndHowToStop(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		for _, number := range []string{anaPhone, "+13035550199"} {
			help := s.texted(number, "HELP")
			help.Kind, help.Action = bot.Consent, bot.Help
			holds(t, s.receive(help), "["+number+"/] Larkmoor Heating & Air", "STOP")
		}
		require.Empty(t, s.OpenJobs(channel, "U-Dee"))
	})
}

func TestAStrangersStopIsKeptToo(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		const eve = "+13035550199"
		stop := s.texted(eve, "STOP")
		stop.Kind, stop.Action = bot.Consent, bot.Stop
		sent := s.receive(stop)
		require.Equal(t, 1, strings.Count(sent, "["), sent)
		holds(t, sent, "["+eve+"/] Larkmoor")
		s.restart(withPhones())
		require.Empty(t, s.text(eve, "hello?"))
	})
}
