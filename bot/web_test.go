package bot_test

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

// onPage is what a person does on the page of a job.
func (s *shop) onPage(who, job, text string) bot.Inbound {
	in := s.inbound(who, job, text)
	in.Channel, in.From, in.Conversation, in.Starts = bot.Web, who, "", ""
	return in
}

func (s *shop) pressOnPage(who, job, action string) bot.Inbound {
	in := s.onPage(who, job, "")
	in.Kind, in.Action = bot.Pressed, action
	return in
}

func (s *shop) seq(job string) int64 {
	s.t.Helper()
	v, err := s.JobView(s.t.Context(), "olu", job)
	require.NoError(s.t, err)
	return v.Talk[len(v.Talk)-1].Seq + int64(len(v.Timeline))
}

// acts are what each act needs, on a job whose call waits.
func acts() map[bot.Act]string {
	return map[bot.Act]string{
		bot.ActConfirm: "", bot.ActOverrule: ":contactor-coil/open", bot.ActMore: ":suction pressure", bot.ActTake: "", bot.ActReturn: "",
		bot.ActSnooze: ":30", bot.ActAssign: ":sam", bot.ActSlot: ":2026-07-14T18:00:00Z",
	}
}

func TestEachRoleDoesOnPagesWhatIsItsToDoAndNothingElse(t *testing.T) {
	t.Parallel()
	may := map[string][]bot.Act{
		"ana": {bot.ActOpen, bot.ActSay},
		"sam": {bot.ActOpen, bot.ActSay, bot.ActConfirm, bot.ActOverrule, bot.ActMore, bot.ActTake, bot.ActReturn, bot.ActSnooze},
		"dee": {bot.ActSay, bot.ActSnooze, bot.ActAssign, bot.ActSlot},
		"olu": {bot.ActSay, bot.ActSnooze, bot.ActAssign, bot.ActSlot},
	}
	for who, allowed := range may {
		t.Run(who, func(t *testing.T) {
			t.Parallel()
			inShop(t, larkmoor(), func(t *testing.T, s *shop) {
				s.overload("Ana")
				tried := func(act bot.Act, in bot.Inbound) {
					before := s.seq("J-1001")
					s.sent()
					err := s.Receive(t.Context(), in)
					if slices.Contains(allowed, act) {
						require.NotEqual(t, bot.CodeForbidden, bot.CodeOf(err), "%s may %s", who, act)
						return
					}
					require.Equal(t, bot.CodeForbidden, bot.CodeOf(err), "%s may not %s", who, act)
					require.Empty(t, s.sent())
					require.Equal(t, before, s.seq("J-1001"), "%s left a trace of %s", who, act)
				}
				for _, act := range bot.Acts() {
					switch act {
					case bot.ActSay:
						tried(act, s.onPage(who, "J-1001", "hold on"))
					case bot.ActOpen:
						tried(act, s.onPage(who, "a job of my own", "outdoor unit dead, blower runs"))
					default:
						tried(act, s.pressOnPage(who, "J-1001", string(act)+":J-1001"+acts()[act]))
					}
				}
			})
		})
	}
}

func TestAPageActsOnAnotherTechniciansJobForNobody(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		s.overload("Ana")
		for _, in := range []bot.Inbound{
			s.onPage("ben", "J-1001", "0 at the coil"), s.pressOnPage("ben", "J-1001", "say:why"),
		} {
			require.Equal(t, bot.CodeForbidden, bot.CodeOf(s.Receive(t.Context(), in)))
		}
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(s.Receive(t.Context(), s.onPage("mallory", "J-1001", "hi"))), "nobody of the shop")
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(s.Receive(t.Context(), s.onPage("sam", "J-4711", "hi"))))
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.Receive(t.Context(), s.onPage("sam", "", "hi"))))
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.Receive(t.Context(), s.pressOnPage("sam", "J-1001", "return:J-1001"))), "nobody has taken it")
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.Receive(t.Context(), s.pressOnPage("sam", "J-1001", "burn:J-1001"))))
		require.Empty(t, s.sent())
	})
}

func TestWhatIsRuledOnAPageReachesTheTechnicianWhereHeIs(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		holds(t, s.receive(s.onPage("dee", "J-1001", "customer leaves at four")), inThread(thread)+"Dee: customer leaves at four")
		holds(t, s.receive(s.pressOnPage("sam", "J-1001", "more:J-1001:c to r again")), inThread(thread)+"Sam asks for one more reading before he rules: c to r again")
		holds(t, s.receive(s.pressOnPage("sam", "J-1001", "confirm:J-1001")), inThread(thread), "Sam confirmed it")
		require.Equal(t, "confirmed", s.OpenJobs(channel, "U-Dee")[0].Status)
	})
}

func TestWhatIsRuledOnAPageReachesThePhone(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		sent := s.receive(s.onPage("sam", "J-1001", "look behind the float switch"))
		holds(t, sent, toAna+"Sam: look behind the float switch", inThread(thread)+"Sam: look behind the float switch")
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.Receive(t.Context(), s.pressOnPage("sam", "J-1001", "overrule:J-1001:contactor-coil/open"))), "there is no call")
		sent = s.receive(s.pressOnPage("dee", "J-1001", "slot:J-1001:2000-01-01T15:00:00Z"))
		holds(t, sent, toAna+"Dee sets the slot: done by 15:00.")
	})
}

func TestAJobIsOpenedAndTalkedThroughOnAPage(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		first := s.onPage("ana", "page-7f3a", "outdoor unit dead, blower runs")
		holds(t, s.receive(first), "["+room+"/] J-1001, Ana: outdoor unit dead, blower runs")
		require.NoError(t, s.Receive(t.Context(), first), "sent again over bad signal")
		job, err := s.JobIn(t.Context(), "ana", "page-7f3a")
		require.NoError(t, err)
		require.Equal(t, "J-1001", job)
		none, err := s.JobIn(t.Context(), "ben", "page-7f3a")
		require.NoError(t, err)
		require.Empty(t, none, "what a page calls it is its own person's")

		s.receive(s.onPage("ana", "page-7f3a", "contactor isnt pulled in"))
		s.receive(s.onPage("ana", "J-1001", "27 at the yellow outside"))
		v, err := s.JobView(t.Context(), "ana", "J-1001")
		require.NoError(t, err)
		require.Len(t, v.Talk, 6)
		require.Equal(t, bot.Web, v.Talk[0].Channel)
		require.Equal(t, first.ID, v.Talk[0].Key.ID)
		require.Contains(t, v.Talk[5].Text, "27 V at Y and C")
		require.Contains(t, pressable(v.Next.Buttons), "say:why")
		s.receive(s.pressOnPage("ana", "J-1001", "say:why"))

		thread := s.OpenJobs(channel, "U-Dee")[0]
		require.Equal(t, "J-1001", thread.Job)
		err = s.Receive(t.Context(), s.onPage("ana", "page-9", "good morning"))
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err), "that is no job")
		require.ErrorContains(t, err, "Tell me what the unit does")
	})
}

func TestTheSeniorAJobIsGivenToIsToldAndAsked(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["lee"] = &bot.Person{Name: "Lee", Role: bot.SeniorRole, Identities: map[string]string{channel: "U-Lee"}}
	inShop(t, config, func(t *testing.T, s *shop) {
		thread, proposed := s.overload("Ana")
		holds(t, proposed, "[@U-Sam] J-1001", "[@U-Lee] J-1001")
		sent := s.receive(s.pressOnPage("dee", "J-1001", "assign:J-1001:lee"))
		holds(t, sent, inThread(thread)+"Dee has asked Lee to look at this job.", "[@U-Lee] Dee gives you this job.", "Call: compressor with its internal overload failed open")
		require.NotContains(t, sent, "[@U-Sam]")
		time.Sleep(11 * time.Minute)
		alarm := s.sent()
		holds(t, alarm, "[@U-Lee] ALARM J-1001: the call has waited")
		require.NotContains(t, alarm, "[@U-Sam]")
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.Receive(t.Context(), s.pressOnPage("dee", "J-1001", "assign:J-1001:ben"))), "no senior")
		b, err := s.Board("dee")
		require.NoError(t, err)
		require.Equal(t, "Lee", b.Jobs[0].Senior.Name)

		s.restart(config)
		s.receive(s.pressOnPage("dee", "J-1001", "assign:J-1001:"))
		b, err = s.Board("dee")
		require.NoError(t, err)
		require.Empty(t, b.Jobs[0].Senior)
	})
}

func TestTheSlotAlarmGoesByTheSlotThatWasSet(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(in)
		until := time.Now().Add(3 * time.Hour)
		s.receive(s.pressOnPage("dee", "J-1001", "slot:J-1001:"+until.Format(time.RFC3339)))
		time.Sleep(150 * time.Minute)
		require.NotContains(t, s.sent(), "past its slot", "the shop's two hours are over, its own time is not")
		time.Sleep(31 * time.Minute)
		holds(t, s.sent(), "past its slot")
		b, err := s.Board("dee")
		require.NoError(t, err)
		require.True(t, until.Equal(b.Jobs[0].Slot))
		require.Equal(t, bot.DispatcherRole, b.Jobs[0].Waits)
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.Receive(t.Context(), s.pressOnPage("dee", "J-1001", "slot:J-1001:soon"))))
	})
}
