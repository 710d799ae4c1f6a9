package bot_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestAFloodOfStrangersIsDroppedAndToldOnce(t *testing.T) {
	t.Parallel()
	config := withPhones()
	config.Channels[bot.Texts] = bot.Channel{Limits: bot.Limits{Strangers: 5}}
	inShop(t, config, func(t *testing.T, s *shop) {
		var sent strings.Builder
		for i := range 40 {
			sent.WriteString(s.text(fmt.Sprintf("+130355502%02d", i), "outdoor unit dead, blower runs"))
		}
		require.Equal(t, 5, strings.Count(sent.String(), "I do not know this sender"), "a minute's worth is answered")
		require.Equal(t, 1, strings.Count(sent.String(), "[@U-Dee] ALARM: more messages a minute come in on sms from senders nobody knows"))
		require.Empty(t, s.OpenJobs(channel, "U-Dee"))
		holds(t, s.text(anaPhone, "outdoor unit dead, blower runs"), toAna+"Read as", inThread("")) // who belongs here is heard
	})
}

func TestTooManyOfOnePersonAreRefusedAndNotLost(t *testing.T) {
	t.Parallel()
	config := withPhones()
	config.Channels[bot.Texts] = bot.Channel{Limits: bot.Limits{Sender: 3}}
	inShop(t, config, func(t *testing.T, s *shop) {
		refused := 0
		var last bot.Inbound
		for range 5 {
			last = s.texted(anaPhone, "outdoor unit dead, blower runs")
			if err := s.Receive(t.Context(), last); err != nil {
				require.Equal(t, bot.CodeLimited, bot.CodeOf(err))
				refused++
			}
		}
		require.Equal(t, 2, refused)
		require.Equal(t, 1, strings.Count(s.sent(), "[@U-Dee] ALARM: more messages a minute come in on sms from Ana"))
		time.Sleep(time.Minute)
		holds(t, s.receive(last), toAna) // the gateway delivers it again
	})
}

func TestNoticesWaitForTheQuietHoursToEnd(t *testing.T) {
	t.Parallel()
	config := withPhones()
	config.People["dee"].Identities = map[string]string{bot.Texts: "+13035550144"}
	config.Policy.QuietHours = bot.QuietHours{From: "21:00", To: "06:00"}
	config.Policy.Alarms.Slot = 600
	const toDee = "[+13035550144/] "
	inShop(t, config, func(t *testing.T, s *shop) {
		time.Sleep(time.Until(time.Date(2000, 1, 1, 22, 0, 0, 0, time.UTC)))
		holds(t, s.text(anaPhone, "outdoor unit dead, blower runs"), toAna+"Read as") // he has asked
		time.Sleep(30 * time.Minute)
		alarm := s.sent()
		holds(t, alarm, "ALARM J-1001: no reading for 20 min")
		require.NotContains(t, alarm, "@+13035550144")
		s.restart(config)
		require.NoError(t, s.Flush(t.Context()), "what waits holds nobody up")
		holds(t, s.text("+13035550144", "status"), toDee+"1 open")
		holds(t, s.text(anaPhone, "burning smell from the panel"), "[@+13035550144] ALARM J-1001: hazard reported")
		holds(t, s.text(anaPhone, "senior please"), "[@U-Sam] ALARM J-1001: the technician asks for a senior")
		time.Sleep(time.Until(time.Date(2000, 1, 2, 5, 59, 0, 0, time.UTC)))
		require.NotContains(t, s.sent(), "no reading for 20 min")
		time.Sleep(2 * time.Minute)
		holds(t, s.sent(), "[@+13035550144] ALARM J-1001: no reading for 20 min")
	})
}
