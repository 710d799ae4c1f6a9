package bot_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// sentAt is a text that was sent some time ago.
func (s *shop) sentAt(ago time.Duration, text string) bot.Inbound {
	in := s.texted(anaPhone, text)
	in.At = in.At.Add(-ago)
	return in
}

// replayed requires that every answer of a job comes out of its record as it was given.
func (s *shop) replayed(job string) {
	s.t.Helper()
	store, err := sqlite.Open(s.t.Context(), s.path, sqlite.Options{ReadOnly: true})
	require.NoError(s.t, err)
	defer func() { require.NoError(s.t, store.Close()) }()
	_, events, err := store.Read(s.t.Context(), job, true)
	require.NoError(s.t, err)
	differences, answers, err := bot.Replay(s.Agent(), s.Version(), events)
	require.NoError(s.t, err)
	require.Empty(s.t, differences)
	require.Positive(s.t, answers)
}

// standing is where the only open job stands.
func (s *shop) standing() string {
	s.t.Helper()
	board, err := s.Board("dee")
	require.NoError(s.t, err)
	require.Len(s.t, board.Jobs, 1)
	j := board.Jobs[0]
	view, err := s.JobView(s.t.Context(), "dee", j.Job)
	require.NoError(s.t, err)
	evidence := make([]string, len(view.Evidence))
	for i, e := range view.Evidence {
		evidence[i] = e.Text
	}
	return fmt.Sprint(j.Status, j.Fault, j.Probability, view.Next, evidence)
}

func TestALateReadingDoesNotOverrideANewerOne(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		time.Sleep(time.Hour)
		s.text(anaPhone, "27 at the yellow outside")
		time.Sleep(2 * time.Hour)
		before := s.standing()
		late := s.sentAt(2*time.Hour+30*time.Minute, "0 at the yellow outside")
		sent := s.receive(late)
		at := late.At.UTC().Format("15:04")
		holds(t, sent, toAna+"Your text from "+at+" came late.\nRead as: 0 V at Y and C", inThread(thread)+"Ana ("+at+"): 0 at the yellow outside")
		require.Contains(t, s.standing(), "27 V at Y and C")
		require.NotContains(t, s.standing(), "0 V at Y and C")
		s.replayed("J-1001")
		s.restart(withPhones())
		holds(t, s.text(anaPhone, "0 at the coil"), "Read as: 0 V at contactor coil")
		s.replayed("J-1001")
		require.NotEqual(t, before, s.standing())
	})
}

func TestALateAnswerIsNotAskedForAgain(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.text(anaPhone, "outdoor unit dead, blower runs")
		time.Sleep(time.Hour)
		holds(t, s.text(anaPhone, "27 at the yellow outside"), "Next: ")
		time.Sleep(time.Hour)
		holds(t, s.receive(s.sentAt(90*time.Minute, "contactor is not pulled in")), "Read as: the contactor is not pulled in")
		last, _ := s.phones.lastTo(anaPhone)
		require.NotNil(t, last.Reply.Ask)
		require.NotEqual(t, "contactor", last.Reply.Ask.Observation)
	})
}

// A gateway may deliver in any order within seconds: where the job stands is the same.
func TestTheOrderOfArrivalDoesNotMatter(t *testing.T) {
	t.Parallel()
	texts := []string{"contactor isnt pulled in", "0 at the yellow outside", "27 at the yellow outside", "0 at the coil", "scratch that", "2 at the coil"}
	stands := func(t *testing.T, order []int) (standing string) {
		inShop(t, withPhones(), func(t *testing.T, s *shop) {
			s.text(anaPhone, "outdoor unit dead, blower runs")
			began := time.Now()
			time.Sleep(20 * time.Second)
			for _, i := range order {
				in := s.texted(anaPhone, texts[i])
				in.At = began.Add(time.Duration(i+1) * time.Second)
				s.receive(in)
			}
			standing = s.standing()
			s.replayed("J-1001")
			s.restart(withPhones())
			require.Equal(t, standing, s.standing())
		})
		return standing
	}
	want := stands(t, []int{0, 1, 2, 3, 4, 5})
	chance := rand.New(rand.NewPCG(6, 0))
	for range 6 {
		order := chance.Perm(len(texts))
		require.Equal(t, want, stands(t, order), "%v", order)
	}
}

func TestALateTextIsAboutTheHouseItWasSentFrom(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.text(anaPhone, "outdoor unit dead, blower runs")
		late := s.sentAt(3*time.Hour, "0 at the yellow outside")
		holds(t, s.receive(late), "Your text from "+late.At.UTC().Format("2006-01-02 15:04")+" came late.\nWhich job is that for?\n1  J-1001")
		require.NotContains(t, s.standing(), "0 V")
		holds(t, s.text(anaPhone, "1"), "Read as: 0 V at Y and C")
		s.replayed("J-1001")
	})
}

func TestALateTextOpensNoJobByItself(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		holds(t, s.receive(s.sentAt(3*time.Hour, "outdoor unit dead, blower runs")), "came late, and no job of yours was open then.")
		require.Empty(t, s.OpenJobs(channel, "U-Dee"))
		holds(t, s.text(anaPhone, "27 at the yellow outside"), "no job of yours was open then") // it goes with what waits
		holds(t, s.text(anaPhone, "new"), "the compressor is off", "27 V at Y and C")
		require.Len(t, s.OpenJobs(channel, "U-Dee"), 1)
	})
}

func TestALateHazardIsAnsweredFirst(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("outdoor unit dead, blower runs")
		time.Sleep(time.Hour)
		s.text(anaPhone, "27 at the yellow outside")
		sent := s.receive(s.sentAt(30*time.Minute, "burning smell from the panel"))
		holds(t, sent, toAna+"Burning smell - cut the power", inThread(thread)+"Burning smell", "[@U-Dee] ALARM J-1001: hazard reported")
	})
}

func TestALateConfirmationConfirmsNothingNewer(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		thread, _ := s.phoneJob("no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
		time.Sleep(time.Hour)
		for _, text := range overloadReadings() {
			s.text(anaPhone, text)
		}
		late := s.inbound("Sam", thread, "confirm")
		late.At = late.At.Add(-30 * time.Minute)
		s.receive(late)
		require.Equal(t, "proposed", s.OpenJobs(channel, "U-Dee")[0].Status)
		s.replayed("J-1001")
		s.say("Sam", thread, "confirm")
		require.Equal(t, "confirmed", s.OpenJobs(channel, "U-Dee")[0].Status)
	})
}

func TestAClockThatIsAheadHoldsNothingUp(t *testing.T) {
	t.Parallel()
	inShop(t, withPhones(), func(t *testing.T, s *shop) {
		s.receive(s.sentAt(-24*time.Hour, "outdoor unit dead, blower runs"))
		require.NotContains(t, s.text(anaPhone, "27 at the yellow outside"), "order")
	})
}
