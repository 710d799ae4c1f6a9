package bot_test

import (
	"errors"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func TestTheBoardShowsWhoIsStuckLongestFirst(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		s.overload("Ana")
		time.Sleep(8 * time.Minute)
		in := s.inbound("Ben", "", "outdoor unit dead on Dorset Row, blower runs")
		s.receive(in)
		time.Sleep(4 * time.Minute)
		s.say("Ben", in.Starts, "thanks")

		b, err := s.Board("dee")
		require.NoError(t, err)
		require.Equal(t, bot.Member{ID: "dee", Name: "Dee", Role: bot.DispatcherRole}, b.Viewer)
		require.Len(t, b.Jobs, 2)
		first, second := b.Jobs[0], b.Jobs[1]
		require.Equal(t, "J-1001", first.Job)
		require.Equal(t, "Ana", first.Technician.Name)
		require.Equal(t, "proposed", first.Status)
		require.Equal(t, "Waiting for a senior", first.StatusText)
		require.Equal(t, []int{12, 12, 26}, []int{first.Stuck, first.SinceReading, first.Open})
		require.Equal(t, bot.SeniorRole, first.Waits)
		require.Equal(t, "compressor with its internal overload failed open", first.Leading)
		require.Equal(t, "compressor", first.Part)
		require.True(t, first.Called)
		require.Contains(t, first.Alarms, bot.Alarm{Kind: bot.AlarmWaiting, Text: "the call has waited 12 min for a senior", At: first.Alarms[0].At})
		require.Equal(t, "outdoor unit dead on Dorset Row, blower runs", second.Complaint)
		require.Equal(t, bot.TechnicianRole, second.Waits)
		require.Equal(t, 4, second.Stuck, "a word that tells nothing moves nothing")

		own, err := s.Board("ben")
		require.NoError(t, err)
		require.Len(t, own.Jobs, 1, "a technician sees his own")
		_, err = s.Board("nobody")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err))
	})
}

func TestAJobsPageTellsItWhole(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, proposed := s.overload("Ana")
		v, err := s.JobView(t.Context(), "sam", "J-1001")
		require.NoError(t, err)
		require.Len(t, v.Talk, 16)
		require.Equal(t, "c to s OL", v.Talk[6].Text)
		require.Equal(t, bot.TechnicianRole, v.Talk[6].Role)
		require.Contains(t, proposed, v.Talk[15].Text)
		require.NotEmpty(t, v.Talk[15].Lines)

		require.Len(t, v.Steps, 8)
		require.Equal(t, []string{"OL at compressor C to S"}, v.Steps[3].Told)
		require.NotEmpty(t, v.Steps[0].RuledOut)
		require.Len(t, v.Chart[0].Points, 8)
		require.Equal(t, "compressor/overload-open", v.Chart[0].Fault)
		require.Greater(t, v.Chart[0].Points[7], v.Chart[0].Points[0])

		require.Equal(t, "compressor/overload-open", v.Suspects[0].Fault)
		require.NotEmpty(t, v.Suspects[0].Because)
		require.NotEmpty(t, v.Excluded)
		require.NotEmpty(t, v.Excluded[0].By)
		require.Equal(t, v.Talk[6].Seq, evidence(t, v, "resistance/compressor-c-s").Seq)
		require.Nil(t, v.Next)
		require.True(t, v.Call.Needs)
		require.Contains(t, v.Call.Proof, "OL at compressor C to S")
		require.Contains(t, v.Call.Text[1], "Repair: ")
		require.NotEmpty(t, v.Cautions)
		require.Equal(t, []string{"confirm:J-1001", "overrule:J-1001", "more:J-1001", "take:J-1001", "snooze:J-1001"}, pressable(v.Actions))

		s.press("Sam", thread, "confirm:J-1001")
		again, err := s.JobView(t.Context(), "ana", "J-1001")
		require.NoError(t, err)
		require.NotEqual(t, v.Version, again.Version)
		require.False(t, again.Call.Needs)
		require.Equal(t, "Sam", again.Call.By.Name)
		require.Empty(t, again.Actions, "a technician rules on nothing")
		var happened []string
		for _, h := range again.Timeline {
			happened = append(happened, h.Who.Name+" "+h.Text)
		}
		require.Equal(t, []string{
			"Ana opened the job", " proposed the call: compressor with its internal overload failed open",
			"Sam confirmed the call: compressor with its internal overload failed open",
		}, happened)
		require.Len(t, v.Talk, 16, "a view that was given does not change")

		_, err = s.JobView(t.Context(), "ben", "J-1001")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err))
		_, err = s.JobView(t.Context(), "sam", "J-4711")
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(err))
	})
}

func TestAJobsPageSaysWhatIsNextInFull(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["sam"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(in)
		s.say("Ana", in.Starts, "contactor isnt pulled in")
		s.say("Ana", in.Starts, "hm") // asked again, and shorter
		v, err := s.JobView(t.Context(), "dee", "J-1001")
		require.NoError(t, err)
		require.Equal(t, "voltage/y-outdoor", v.Next.Reading)
		require.Contains(t, v.Next.Ask, "read the voltage from Y to C")
		require.Contains(t, v.Next.How, "one lead on the yellow")
		require.Contains(t, v.Next.Why, "it parts clogged drain and low charge")
		require.Len(t, v.Next.Answers, 2)
		require.Equal(t, []string{"clogged drain"}, v.Next.Answers[0].Faults)
		require.NotEmpty(t, v.Next.Cautions)

		spanish, err := s.JobView(t.Context(), "sam", "J-1001")
		require.NoError(t, err)
		require.Contains(t, spanish.Next.Ask, "voltaje")
		require.Equal(t, "Midiendo", spanish.StatusText)
	})
}

func TestAnEditedMessageIsShownAsItReadsNow(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		first := s.inbound("Ana", "", "outdoor unit dead, blower runs")
		s.receive(first)
		typo := s.inbound("Ana", first.Starts, "2.7 at the yellow outside")
		s.receive(typo)
		_, err := s.JobView(t.Context(), "dee", "J-1001")
		require.NoError(t, err)
		edit := s.inbound("Ana", first.Starts, "27 at the yellow outside")
		edit.Kind, edit.Of = bot.Edited, typo.ID
		s.receive(edit)
		v, err := s.JobView(t.Context(), "dee", "J-1001")
		require.NoError(t, err)
		require.Equal(t, "27 at the yellow outside", v.Talk[2].Text)
		require.True(t, v.Talk[2].Edited)
		require.InDelta(t, 27, evidence(t, v, "voltage/y-outdoor").Value, 1e-9)
	})
}

func TestTheRefrigerantSideStandsBesideASoundMachines(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "not cooling well, everything runs. r410a, txv, 95 outside, return 76")
		s.receive(in)
		s.say("Ana", in.Starts, "suction 100, head 345, suction line 60, target subcooling 10")
		v, err := s.JobView(t.Context(), "dee", "J-1001")
		require.NoError(t, err)
		suction := gauge(t, v, "pressure/suction")
		require.InDelta(t, 31.5, *suction.Saturation, 1, "R-410A at 100 psig, published table")
		require.NotNil(t, suction.Normal)
		require.True(t, suction.Beyond)
		require.Equal(t, "100 psig", suction.Text)
		superheat := gauge(t, v, "superheat/system")
		require.InDelta(t, 60-*suction.Saturation, superheat.Value, 0.1)
		require.Nil(t, superheat.Target)
	})
}

func evidence(t *testing.T, v *bot.JobView, reading string) bot.EvidenceView {
	t.Helper()
	for _, e := range v.Evidence {
		if e.Reading == reading {
			return e
		}
	}
	require.Fail(t, "not in evidence", "%s in %+v", reading, v.Evidence)
	return bot.EvidenceView{}
}

func gauge(t *testing.T, v *bot.JobView, reading string) bot.Gauge {
	t.Helper()
	for _, g := range v.Gauges {
		if g.Reading == reading {
			return g
		}
	}
	require.Fail(t, "no such gauge", "%s in %+v", reading, v.Gauges)
	return bot.Gauge{}
}

func pressable(actions []bot.Button) []string {
	var out []string
	for _, b := range actions {
		out = append(out, b.Action)
	}
	return out
}

func TestAPersonIsKnownByWhatHeIsCalled(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["ana"].Name = "Ana Reyes"
	config.People["ana"].Identities[bot.Texts] = anaPhone
	config.People["ben"].Name, config.People["olu"].Name = "Pat Lee", "Pat Lee"
	inShop(t, config, func(t *testing.T, s *shop) {
		for _, said := range []string{"ana", "ANA ", "Ana Reyes", "U-Ana", "303-555-0123", "(303) 555 0123", "+1 303 555 0123"} {
			p, ok := s.Known(said)
			require.True(t, ok, said)
			require.Equal(t, "ana", p.ID, said)
		}
		for _, said := range []string{"", " ", "0123", "303 555 0124", "U", "nobody", "Pat Lee"} {
			_, ok := s.Known(said)
			require.False(t, ok, said)
		}
	})
}

func TestACodeGoesThroughAPersonsOwnChannelAndPastTheRecord(t *testing.T) {
	t.Parallel()
	config := larkmoor()
	config.People["sam"].Language = "es"
	inShop(t, config, func(t *testing.T, s *shop) {
		s.phones.failBy(func(n int, _ bot.Outbound) error {
			if n == 1 {
				return &bot.DeliveryError{Retry: true, Reason: "busy", Err: errors.New("busy")}
			}
			return nil
		})
		require.NoError(t, s.SendCode(t.Context(), "sam", "123456", 10*time.Minute))
		holds(t, s.sent(), "[@U-Sam] 123456 es su código para Larkmoor")
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(s.SendCode(t.Context(), "mallory", "123456", time.Minute)))
		for _, path := range []string{s.path, s.path + "-wal"} {
			kept, err := os.ReadFile(path)
			require.NoError(t, err)
			require.NotContains(t, string(kept), "123456")
		}
	})
}
