package bot_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// phoneJob opens a job from Ana's phone and gives its thread in the room and what was
// sent for it.
func (s *shop) phoneJob(text string) (thread, sent string) {
	s.t.Helper()
	sent = s.text(anaPhone, text)
	jobs := s.OpenJobs(channel, "U-Dee")
	require.NotEmpty(s.t, jobs)
	return jobs[len(jobs)-1].Place.Thread, sent
}

// How the start of a delivery to Ana's phone, and to a thread of the room, reads.
const toAna = "[" + anaPhone + "/] "

func inThread(thread string) string { return "[" + room + "/" + thread + "] " }

func TestATextedJobHasItsThreadInTheRoom(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, sent := s.phoneJob("outdoor unit dead, blower runs")
		require.NotEmpty(t, thread)
		holds(t, sent, "["+room+"/] J-1001, Ana: outdoor unit dead, blower runs", inThread(thread)+"Read as: the compressor is off", toAna+"Read as: the compressor is off")
		require.NotContains(t, sent, anaPhone+": ", "names, no numbers")
		sent = s.text(anaPhone, "27 at the yellow outside")
		holds(t, sent, inThread(thread)+"Ana: 27 at the yellow outside", inThread(thread)+"Read as: 27 V at Y and C", toAna+"Read as: 27 V")
		require.Less(t, strings.Index(sent, "Ana: 27"), strings.Index(sent, inThread(thread)+"Read as"))

		s.restart(withPhones())
		sent = s.say("Sam", thread, "look behind the float switch, the cable was chewed last time")
		holds(t, sent, toAna+"Sam: look behind the float switch")
		require.Equal(t, 1, strings.Count(sent, "chewed"), "not where it was written")
		sent = s.say("Dee", thread, "customer leaves at four")
		require.Equal(t, toAna+"Dee: customer leaves at four\n", sent)
		require.Len(t, s.OpenJobs(channel, "U-Dee"), 1)
	})
}

func TestWhatASeniorAsksTheAgentStaysInTheThread(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		for _, ask := range []string{"why", "status", "what's left", "snooze 30"} {
			sent := s.say("Sam", thread, ask)
			require.NotContains(t, sent, toAna, ask)
			holds(t, sent, inThread(thread))
		}
		sent := s.say("Sam", thread, "I read 27 at the yellow outside myself")
		holds(t, sent, toAna+"Sam: I read 27", toAna+"Read as: 27 V", inThread(thread)+"Read as: 27 V")
	})
}

func TestARulingInTheThreadReachesThePhoneOnce(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
		var proposed string
		for _, text := range overloadReadings() {
			proposed = s.text(anaPhone, text)
		}
		require.Equal(t, 1, strings.Count(proposed, inThread(thread)+"J-1001, Ana: no cooling"), "the card")
		holds(t, proposed, "[@U-Sam] J-1001, Ana: no cooling", toAna+"Read as")
		require.NotContains(t, proposed, toAna+"J-1001, Ana: no cooling")
		holds(t, s.say("Sam", thread, "ask her for c to r again"), toAna+"Sam asks for one more reading before he rules: c to r again", inThread(thread)+"Sam asks")
		sent := s.press("Sam", thread, "confirm:J-1001")
		require.Equal(t, 1, strings.Count(sent, toAna))
		holds(t, sent, toAna+"Sam confirmed it: compressor with its internal overload", inThread(thread)+"Sam confirmed it")
	})
}

func TestAnOverrulingWithItsReasonReachesThePhone(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
		for _, text := range overloadReadings() {
			s.text(anaPhone, text)
		}
		holds(t, s.say("Sam", thread, "override, it is an open wire at the contactor coil"),
			toAna+"Sam: override, it is an open wire", toAna+"Sam overruled the call", "Repair:")
	})
}

func TestTakingOverWorksAcrossTheBridge(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		holds(t, s.say("Sam", thread, "I'll take it"), toAna+"Sam has this job now.", inThread(thread)+"Sam has this job now.")
		require.Equal(t, inThread(thread)+"Ana: 27 at the yellow outside\n", s.text(anaPhone, "27 at the yellow outside"))
		require.Equal(t, toAna+"Sam: why did you measure there?\n", s.say("Sam", thread, "why did you measure there?"))
		holds(t, s.text(anaPhone, "burning smell from the panel"), toAna+"Burning smell - cut the power", inThread(thread)+"Burning smell", inThread(thread)+"Ana: burning smell")
		holds(t, s.say("Sam", thread, "hand back"), toAna, inThread(thread))
		holds(t, s.text(anaPhone, "0 at the coil"), toAna+"Read as: 0 V at contactor coil")
	})
}

func TestAlarmsOfATextedJobStandInItsThread(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		holds(t, s.text(anaPhone, "senior please"), inThread(thread)+"ALARM J-1001: the technician asks for a senior", "[@U-Sam] ALARM")
	})
}

func TestEditsInTheThreadDoNotGoToThePhone(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		first := s.inbound("Sam", thread, "I read 2.7 at the yellow outside myself")
		s.receive(first)
		edit := s.inbound("Sam", thread, "I read 27 at the yellow outside myself")
		edit.Kind, edit.Of = bot.Edited, first.ID
		require.NotContains(t, s.receive(edit), toAna)
		gone := s.inbound("Sam", thread, "")
		gone.Kind, gone.Of = bot.Deleted, first.ID
		require.NotContains(t, s.receive(gone), toAna)
	})
}

func TestTheThreadIsOpenedOnceWhateverFails(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.phones.failBy(func(_ int, m bot.Outbound) error {
			if m.Conversation == room {
				return errors.New("broken pipe")
			}
			return nil
		})
		holds(t, s.text(anaPhone, "outdoor unit dead, blower runs"), toAna)
		s.text(anaPhone, "27 at the yellow outside")
		s.restart(withPhones())
		s.phones.failBy(nil)
		s.restart(withPhones())
		sent := s.text(anaPhone, "0 at the coil")
		require.Equal(t, 1, strings.Count(sent, "["+room+"/] "), "one message stands in the room itself")
		holds(t, sent, "["+room+"/] J-1001, Ana: outdoor unit dead")
		s.text(anaPhone, "new job: no cooling on Dorset, condenser fan runs, compressor silent")
		require.Len(t, s.OpenJobs(channel, "U-Dee"), 2)
		threads := map[string]bool{}
		for _, j := range s.OpenJobs(channel, "U-Dee") {
			threads[j.Place.Thread] = true
		}
		require.Len(t, threads, 2, "each job has its own: %v", threads)
	})
}

// The service is killed after the message that opens the thread is there and its thread
// is in the record, and before its delivery is.
func TestAThreadInTheRecordIsNotOpenedAgain(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.phones.failBy(func(_ int, m bot.Outbound) error {
			if m.Conversation == room {
				return errors.New("broken pipe")
			}
			return nil
		})
		in := s.texted(anaPhone, "outdoor unit dead, blower runs")
		s.receive(in)
		s.stop()
		store, err := sqlite.Open(t.Context(), s.path, sqlite.Options{})
		require.NoError(t, err)
		pending, err := store.Pending(t.Context())
		require.NoError(t, err)
		_, events, err := store.Read(t.Context(), "J-1001", true)
		require.NoError(t, err)
		seq := int64(len(events))
		require.NoError(t, store.Append(t.Context(), &bot.Entry{
			Key: bot.Key{Channel: "thread", ID: pending[0].ID}, Stream: "J-1001", After: seq, At: time.Now(), Events: []bot.Event{{
				Stream: "J-1001", Seq: seq + 1, At: time.Now(), Kind: bot.EventThread, Key: bot.Key{Channel: "thread", ID: pending[0].ID},
				Place: bot.Place{Channel: channel, Conversation: room, Thread: "t-before"},
			}},
		}))
		require.NoError(t, store.Close())
		s.phones.failBy(nil)
		base, err := trade()
		require.NoError(t, err)
		s.start(base, withPhones())
		sent := s.sent()
		require.NotContains(t, sent, "["+room+"/] ")
		require.NotContains(t, sent, "J-1001, Ana")
		holds(t, sent, inThread("t-before")+"Read as")
		holds(t, s.say("Sam", "t-before", "mind the dog"), toAna+"Sam: mind the dog")
	})
}

func TestAShopMayLeaveTextsUnbridged(t *testing.T) {
	t.Parallel()
	config := withPhones()
	config.Channels[bot.Texts] = bot.Channel{Settings: map[string]string{"bridge": "none"}}
	inShop(t, config, func(t *testing.T, s *shop) {
		require.NotContains(t, s.text(anaPhone, "outdoor unit dead, blower runs"), "["+room)
	})
}

// Whatever comes in, its echoes bring nothing more out.
func TestEchoesCauseNothing(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		s.say("Sam", thread, "mind the dog")
		s.text(anaPhone, "27 at the yellow outside")
		s.say("Dee", thread, "customer leaves at four")
		for _, restarted := range []bool{false, true} {
			if restarted {
				s.restart(withPhones())
			}
			for i, d := range s.phones.delivered() {
				for _, from := range []string{"U-Sam", "U-Dee", "U-Eve", anaPhone} {
					echo := bot.Inbound{
						Channel: d.out.Channel, ID: d.id, Conversation: d.out.Conversation, Thread: d.out.Thread,
						From: from, Kind: bot.Said, Text: d.out.Text,
					}
					require.Empty(t, s.receive(echo), fmt.Sprint(i, from))
				}
			}
		}
	})
}
