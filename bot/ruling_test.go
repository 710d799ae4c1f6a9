package bot_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestASeniorConfirmsByButton(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		in := s.inbound("Sam", "", "")
		in.Kind, in.Action, in.Conversation, in.Starts = bot.Pressed, "confirm:J-1001", "D-Sam", ""
		holds(t, s.receive(in), "["+room+"/"+thread+"] Sam confirmed it: compressor", "[D-Sam/] Sam confirmed it")
		require.Equal(t, "confirmed", s.OpenJobs(channel, "U-Dee")[0].Status)
	})
}

func TestNobodyConfirmsHisOwnCallUnlessTheShopLetsHim(t *testing.T) {
	t.Parallel()
	for _, lets := range []bool{false, true} {
		config := larkmoor()
		config.People["ana"].Role = bot.SeniorRole
		config.Policy.Confirm.OwnCalls = lets
		inShop(t, config, func(t *testing.T, s *shop) {
			thread, _ := s.overload("Ana")
			s.say("Ana", thread, "confirm")
			want := "proposed"
			if lets {
				want = "confirmed"
			}
			require.Equal(t, want, s.OpenJobs(channel, "U-Dee")[0].Status)
		})
	}
}

func TestASeniorAsksForOneMoreReading(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		holds(t, s.say("Sam", thread, "ask him for c to r again"), "["+room+"/"+thread+"] Sam asks for one more reading before he rules: c to r again")
		require.Equal(t, "proposed", s.OpenJobs(channel, "U-Dee")[0].Status)
	})
}

func TestWhoTakesTheThreadSilencesTheAgent(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(in)
		holds(t, s.say("Sam", in.Starts, "I'll take it"), "Sam has this job now.")
		require.Empty(t, s.say("Ana", in.Starts, "27 at the yellow outside"))
		require.Empty(t, s.say("Sam", in.Starts, "check the float switch first"))
		holds(t, s.say("Ana", in.Starts, "burning smell from the panel"), "[service/tAna-1] Burning smell - cut the power", "[@U-Dee] ALARM")
		holds(t, s.say("Dee", "", "status"), "with Sam")
		time.Sleep(3 * time.Hour)
		require.NotContains(t, s.sent(), "no reading", "his jobs sound no alarms")
		holds(t, s.say("Sam", in.Starts, "hand back"), "contactor")
		holds(t, s.say("Ana", in.Starts, "0 at the coil"), "Read as: 0 V at contactor coil")
	})
}

func TestHazardsComeFirstAndAreTold(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		got := s.say("Ana", "", "outdoor unit dead, i smell gas in here")
		at := strings.Index(got, "[service/tAna-1] ")
		require.GreaterOrEqual(t, at, 0)
		require.NotContains(t, strings.SplitN(got[at:], "\n", 2)[0], "Read as", "the safety answer is first")
		holds(t, got, "[@U-Dee] ALARM J-1001: hazard reported. Gas smell", "[@U-Sam] ALARM J-1001")
		require.NotContains(t, s.say("Ana", "", "still smell gas"), "ALARM", "once")
	})
}

func TestAlarmsSoundOnceAndSnooze(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(in)
		time.Sleep(21 * time.Minute)
		holds(t, s.sent(), "[@U-Dee] ALARM J-1001: no reading for 20 min")
		holds(t, s.press("Dee", in.Starts, "snooze:J-1001"), "J-1001: no alarms for 30 min.")
		s.say("Ana", in.Starts, "27 at the yellow outside")
		time.Sleep(29 * time.Minute)
		require.Empty(t, s.sent())
		time.Sleep(25 * time.Minute)
		holds(t, s.sent(), "no reading for")
		time.Sleep(time.Hour)
		holds(t, s.sent(), "past its slot")
		holds(t, s.say("Ana", in.Starts, "senior please"), "the technician asks for a senior")
	})
}

func TestAnEditIsACorrectionAndADeletionTakesBack(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		first := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(first)
		typo := s.inbound("Ana", first.Starts, "2.7 at the yellow outside")
		s.receive(typo)
		edit := s.inbound("Ana", first.Starts, "27 at the yellow outside")
		edit.Kind, edit.Of = bot.Edited, typo.ID
		holds(t, s.receive(edit), "Took your message as it reads now.", "27 V at Y and C")
		looks := s.inbound("Ana", first.Starts, "27 at the yellow outside")
		looks.Kind, looks.Of = bot.Edited, typo.ID
		require.Empty(t, s.receive(looks), "an edit that changes nothing")
		gone := s.inbound("Ana", first.Starts, "")
		gone.Kind, gone.Of = bot.Deleted, typo.ID
		holds(t, s.receive(gone), "Left out what you took back.")
		foreign := s.inbound("Ben", first.Starts, "scratch that")
		foreign.Kind, foreign.Of = bot.Edited, first.ID
		require.Empty(t, s.receive(foreign), "nobody edits another's words")
	})
}

func TestAPictureIsKeptAndThePlateAskedForInWords(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "")
		in.Files = []bot.File{{ID: "F1", Name: "plate.jpg", Kind: "image/jpeg"}}
		holds(t, s.receive(in), "Kept with the job: plate.jpg. I cannot read a picture")
	})
}

func TestDeliveryIsTriedAgainInOrder(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		began := time.Now()
		s.phones.failBy(func(n int, _ bot.Outbound) error {
			switch n {
			case 1:
				return &bot.DeliveryError{Retry: true, After: 7 * time.Second, Reason: "rate-limited", Err: errors.New("slow down")}
			case 2, 3:
				return errors.New("broken pipe")
			}
			return nil
		})
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		require.Empty(t, s.receive(in))
		require.Empty(t, s.say("Ana", in.Starts, "27 at the yellow outside"))
		time.Sleep(4 * time.Second)
		require.Equal(t, 1, s.phones.tries(), "not before it may")
		time.Sleep(20 * time.Second)
		got := s.sent()
		require.Less(t, strings.Index(got, "the compressor is off"), strings.Index(got, "27 V at Y"), "in order")
		require.GreaterOrEqual(t, time.Since(began), 8*time.Second)
	})
}

func TestWhatCannotBeDeliveredIsSeenByTheDispatcher(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		s.phones.failBy(func(_ int, m bot.Outbound) error {
			if m.Conversation == room {
				return &bot.DeliveryError{Reason: "unreachable", Err: errors.New("gone")}
			}
			return nil
		})
		holds(t, s.say("Ana", "", "outdoor unit dead, blower runs"), "[@U-Dee] A message could not be delivered on "+channel+" at the first try (the channel knows no such receiver)")
	})
}
