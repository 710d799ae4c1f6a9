package bot_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// overload takes a job to the call of an open compressor overload, which needs a
// senior; it gives its thread and what was sent last.
func (s *shop) overload(who string) (thread, last string) {
	in := s.inbound(who, "", "new job: no cooling at 12 Fenwick. condenser fan runs, compressor is silent, blower is running")
	s.receive(in)
	for _, text := range overloadReadings() {
		time.Sleep(2 * time.Minute)
		last = s.say(who, in.Starts, text)
	}
	return in.Starts, last
}

// overloadReadings are what it takes to prove the overload.
func overloadReadings() []string {
	return []string{
		"236 at the bottom of the contactor", "0 amps on common", "c to s OL", "c to r OL", "r to s 3.3",
		"cap is a 45/5, herm reads 44.6", "shell is cold",
	}
}

// holds requires each of the parts in a text.
func holds(t *testing.T, text string, parts ...string) {
	t.Helper()
	for _, p := range parts {
		require.Contains(t, text, p)
	}
}

func TestAWholeJob(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, proposed := s.overload("Ana")
		at := "[" + room + "/" + thread + "] "
		holds(t, proposed, at+"Read as", "A senior confirms this before anything is changed.", "[@U-Sam] J-1001, Ana: no cooling at 12 Fenwick",
			"Call: compressor with its internal overload failed open", "Proof: OL at compressor C to S;", "Ruled out: weak run capacitor on the compressor side, by 44.6",
			"If it is wrong: a good compressor changed and a second trip.")

		holds(t, s.say("Dee", "", "status"), "1 open\nJ-1001 Ana, proposed", "call waits 0 min for a senior")

		time.Sleep(11 * time.Minute)
		alarm := s.sent()
		holds(t, alarm, at+"ALARM J-1001: the call has waited 10 min", "[@U-Dee] ALARM", "[@U-Sam] ALARM")
		require.NotContains(t, alarm, "[@U-Ana]")
		time.Sleep(20 * time.Minute)
		require.Empty(t, s.sent(), "an alarm is given once")

		holds(t, s.press("Ana", thread, "confirm:J-1001"), "That is for a senior technician.")
		holds(t, s.say("Ana", thread, "confirm"), "The call needs a senior's word", "Waiting for a senior")

		holds(t, s.press("Sam", thread, "overrule:J-1001"), "override, it is the")
		holds(t, s.say("Sam", thread, "override, it is an open wire at the contactor coil"), "Sam names it: open wire at the contactor coil", "Repair:")
		holds(t, s.say("Ana", thread, "fixed the wire, done"), "Now prove it well", "Check:")
		for _, text := range []string{
			"coil reads 26", "comp running", "fan is spinning", "return 75, supply 56", "suction 118, head 300", "12 amps on common", "filter is clean", "yes", "pulled in",
		} {
			if s.say("Ana", thread, text); len(s.OpenJobs(channel, "U-Dee")) == 0 {
				break
			}
		}
		require.Empty(t, s.OpenJobs(channel, "U-Dee"), "the job is closed")
		holds(t, s.say("Dee", "", "status"), "No open jobs.")
	})
}

func TestWhatIsDeliveredAgainChangesNothing(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		in := s.inbound("Ana", "", "outdoor unit dead, blower runs, 27 at the yellow")
		first := s.receive(in)
		holds(t, first, "Read as: 27 V at Y and C")
		for range 3 {
			require.Empty(t, s.receive(in))
		}
		s.restart(larkmoor())
		require.Empty(t, s.receive(in), "nor after a restart")
		require.Len(t, s.OpenJobs(channel, "U-Dee"), 1)
	})
}

func TestARestartGoesOnWhereItWas(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		before := s.OpenJobs(channel, "U-Dee")
		s.restart(larkmoor())
		require.Equal(t, before, s.OpenJobs(channel, "U-Dee"))
		holds(t, s.say("Sam", thread, "confirm"), "confirmed it: compressor with its internal overload failed open")
		s.restart(larkmoor())
		holds(t, s.say("Ben", "", "no heat? no: no cooling, blower runs, outdoor unit dead"), "Read as")
		require.Equal(t, "J-1002", s.OpenJobs(channel, "U-Ben")[0].Job, "numbers are not used twice")
	})
}

func TestAStrangerIsToldOnceAndLearnsNothing(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		thread, _ := s.overload("Ana")
		holds(t, s.say("Eve", thread, "status"), "This is the service desk assistant of Larkmoor Heating & Air. I do not know this sender")
		require.Empty(t, s.say("Eve", thread, "confirm"))
		require.Empty(t, s.press("Eve", thread, "confirm:J-1001"))
		require.Empty(t, s.OpenJobs(channel, "U-Eve"))
		time.Sleep(25 * time.Hour)
		s.sent()
		require.Contains(t, s.say("Eve", "", "hello?"), "I do not know this sender")
	})
}

func TestTechniciansInOneRoomNeverMix(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		s.say("Ana", "", "outdoor unit dead, blower runs")
		s.say("Ben", "", "condenser fan runs, compressor silent, blower runs")
		holds(t, s.say("Ana", "", "27 at the yellow outside"), "[service/tAna-1] Read as: 27 V at Y and C")
		holds(t, s.say("Ben", "", "236 at the bottom of the contactor"), "[service/tBen-2] Read as: 236 V at load side of the contactor")
		require.Len(t, s.OpenJobs(channel, "U-Dee"), 2)
		ben := s.OpenJobs(channel, "U-Ben")
		require.Len(t, ben, 1, "a technician sees his own")
		require.Equal(t, "Ben", ben[0].Technician)
		require.NotContains(t, s.say("Ben", "", "J-1001 0 at the coil"), "[service/tAna-1]", "nor writes to another's")
	})
}

func TestAMessageThatNamesNoJobIsAskedAbout(t *testing.T) {
	t.Parallel()
	inShop(t, larkmoor(), func(t *testing.T, s *shop) {
		s.say("Ana", "", "outdoor unit dead at Fenwick, blower runs")
		holds(t, s.say("Ana", "", "new job: no cooling on Dorset, condenser fan runs, compressor silent"), "[service/tAna-2] Read as")
		require.Len(t, s.OpenJobs(channel, "U-Ana"), 2)
		asked := s.say("Ana", "", "27 at the yellow outside")
		holds(t, asked, "Which job is that for?\n1  J-1001 outdoor unit dead at Fenwick", "2  J-1002 ")
		s.restart(larkmoor()) // what waits for its job is in the record
		holds(t, s.say("Ana", "", "1"), "[service/tAna-1] Read as: 27 V at Y and C")
		holds(t, s.say("Ana", "", "0 amps on common"), "Which job")
		holds(t, s.press("Ana", "", "place:J-1002"), "[service/tAna-2] Read as: 0 A at compressor common")
		holds(t, s.say("Ana", "", "clogged filter"), "Which job")
		holds(t, s.say("Ana", "", "new"), "[service/tAna-7] Read as: the filter is dirty")
		require.Len(t, s.OpenJobs(channel, "U-Ana"), 3)
	})
}
