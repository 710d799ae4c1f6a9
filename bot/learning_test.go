package bot_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

const switchOpen = "low-pressure-switch/stuck-open"

func closing(job int, fault, verdict string, day int) bot.Event {
	return bot.Event{
		Stream: fmt.Sprint("J-", 1000+job), Kind: bot.EventClosed, Fault: fault, Verdict: verdict,
		At: time.Date(2026, 7, day, 12, 0, 0, 0, time.UTC),
	}
}

func TestAShopsOwnCausesMoveThePriors(t *testing.T) {
	t.Parallel()
	base, err := trade()
	require.NoError(t, err)
	require.Contains(t, base.Faults, switchOpen)
	published := base.Faults[switchOpen].Weight
	var closings []bot.Event
	for n := range 50 {
		closings = append(closings, closing(n, switchOpen, bot.ClosedProven, 1))
	}
	on := bot.Learning{On: true}

	learned, met := bot.Learn(base, on, closings)
	require.Len(t, met, 1)
	require.Equal(t, 50, met[0].Closed)
	require.InDelta(t, (200*met[0].Published+50)/250, min(met[0].Now, 1), 1, "counted over the published")
	require.Greater(t, learned.Faults[switchOpen].Weight, published)
	require.LessOrEqual(t, learned.Faults[switchOpen].Weight, 4*published*1.0001, "never by more than the cap")
	require.NotEqual(t, base.Version, learned.Version, "the version says so")
	require.InDelta(t, published, base.Faults[switchOpen].Weight, 0, "base is not changed")

	again, _ := bot.Learn(base, on, closings)
	require.Equal(t, learned.Version, again.Version)

	off, met := bot.Learn(base, bot.Learning{}, closings)
	require.Same(t, base, off, "off by a switch")
	require.Len(t, met, 1, "and still to be looked at")

	reset, met := bot.Learn(base, bot.Learning{On: true, Since: "2026-07-02"}, closings)
	require.Same(t, base, reset, "begun anew")
	require.Empty(t, met)
}

func TestOnlyTheLastProvenCauseOfAJobCounts(t *testing.T) {
	t.Parallel()
	base, err := trade()
	require.NoError(t, err)
	_, met := bot.Learn(base, bot.Learning{On: true}, []bot.Event{
		closing(1, "contactor-coil/open", bot.ClosedProven, 1), closing(1, switchOpen, bot.ClosedProven, 3), // it came back
		closing(2, switchOpen, bot.ClosedUnproven, 1),
		closing(3, "no/such-fault", bot.ClosedProven, 1),
	})
	require.Len(t, met, 1)
	require.Equal(t, bot.Learned{Fault: switchOpen, Published: met[0].Published, Closed: 1, Now: met[0].Now}, met[0])
}
