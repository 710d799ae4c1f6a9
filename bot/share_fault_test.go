package bot_test

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
)

// faulty is a service's record that fails it at times.
type faulty struct {
	*postgres.Store
	deaf, idle atomic.Bool  // it hears of nothing, takes nothing
	unsure     atomic.Value // the message that is written, and the answer lost; once
	unread     atomic.Int64 // the so manieth reading from here fails
}

func errCutOff() error { return &bot.Error{Code: bot.CodeUnreachable, Text: "connection lost"} }

func (f *faulty) Follow(ctx context.Context, news func(bot.Mark) bool, take func(bot.Event) error) error {
	if f.deaf.Load() {
		return nil
	}
	return f.Store.Follow(ctx, news, take)
}

func (f *faulty) Take(ctx context.Context, lanes int) ([]bot.Outbound, error) {
	if f.idle.Load() {
		return nil, nil
	}
	return f.Store.Take(ctx, lanes)
}

func (f *faulty) Append(ctx context.Context, e *bot.Entry) error {
	err := f.Store.Append(ctx, e)
	if err == nil && e.Key.ID != "" && f.unsure.CompareAndSwap(e.Key.ID, "") {
		return errCutOff()
	}
	return err
}

func (f *faulty) Read(ctx context.Context, stream string, whole bool) (*bot.Snapshot, []bot.Event, error) {
	if f.unread.Add(-1) == 0 {
		return nil, nil, errCutOff()
	}
	return f.Store.Read(ctx, stream, whole)
}

func faultyShops(t *testing.T, c bot.Config, n int) (*shops, []*faulty) {
	t.Helper()
	var all []*faulty
	s := inShopsOf(t, c, n, func(p *postgres.Store) bot.Store {
		f := &faulty{Store: p}
		all = append(all, f)
		return f
	})
	return s, all
}

// written is a message of somebody in a thread of the room.
func written(id, thread, who, text string) bot.Inbound {
	return bot.Inbound{Channel: channel, ID: id, Conversation: room, Thread: thread, From: "U-" + who, Kind: bot.Said, Text: text}
}

// texted is a text from Ana's phone, and worded one of the carriers' words from a number.
func texted(id, text string) bot.Inbound {
	return bot.Inbound{Channel: bot.Texts, ID: id, Conversation: anaPhone, From: anaPhone, Kind: bot.Said, Text: text}
}

func worded(id, from, word string) bot.Inbound {
	return bot.Inbound{Channel: bot.Texts, ID: id, Conversation: from, From: from, Kind: bot.Consent, Action: word, Text: word}
}

// lost has a service write a message down and lose the answer, so that it comes again.
func lost(t *testing.T, one *bot.Service, f *faulty, in bot.Inbound) {
	t.Helper()
	f.unsure.Store(in.ID)
	require.Error(t, one.Receive(t.Context(), in))
	require.NoError(t, one.Receive(t.Context(), in))
}

func TestWhatWasWrittenAndTheAnswerLostIsKnownWhenItComesAgain(t *testing.T) {
	t.Parallel()
	s, f := faultyShops(t, withPhones(), 1)
	one := s.services[0]
	lost(t, one, f[0], texted("m1", "outdoor unit dead, blower runs"))
	open := one.OpenJobs(channel, "U-Dee")
	require.Len(t, open, 1, "a job")
	s.settled(t)

	lost(t, one, f[0], worded("s1", anaPhone, bot.Stop))
	s.settled(t)
	before := len(s.phones.delivered())
	require.NoError(t, one.Receive(t.Context(), written("d1", one.OpenJobs(channel, "U-Dee")[0].Place.Thread, "Dee", "customer leaves at four")))
	s.settled(t)
	for _, d := range s.phones.delivered()[before:] {
		require.NotEqual(t, anaPhone, d.out.Conversation, "she wants no messages")
	}

	const unknown = "+13035550199"
	lost(t, one, f[0], worded("s2", unknown, bot.Stop))
	require.NoError(t, one.Receive(t.Context(), worded("s3", unknown, bot.Start)))
}

func TestADeskThatMovedOnElsewhereIsReadAgain(t *testing.T) {
	t.Parallel()
	s, f := faultyShops(t, withPhones(), 2)
	f[0].deaf.Store(true)
	const unknown = "+13035550199"
	require.NoError(t, s.services[1].Receive(t.Context(), worded("s1", unknown, bot.Start)))
	require.NoError(t, s.services[0].Receive(t.Context(), worded("s2", unknown, bot.Stop)), "a stranger's")

	require.NoError(t, s.services[1].Receive(t.Context(), worded("c1", anaPhone, bot.Start)))
	s.settled(t)
	f[1].idle.Store(true) // the one that delivers has not heard that hers moved on
	s.phones.failBy(func(_ int, m bot.Outbound) error {
		if m.Conversation == anaPhone {
			return &bot.DeliveryError{Reason: "no route", Err: errors.New("no route")}
		}
		return nil
	})
	require.NoError(t, s.services[1].Receive(t.Context(), texted("m1", "status")))
	require.Eventually(t, func() bool {
		_, events, err := s.store.Read(t.Context(), "@ana", true)
		return err == nil && len(events) > 0 && events[len(events)-1].Kind == bot.EventDead
	}, 20*time.Second, 10*time.Millisecond, "that it did not arrive is noted")
}

func TestWhoCouldNotReadAllDoesNotSayHeKnowsAll(t *testing.T) {
	t.Parallel()
	s, f := faultyShops(t, larkmoor(), 2)
	f[0].deaf.Store(true)
	require.NoError(t, s.services[1].Receive(t.Context(), written("m1", "", "Ana", "new job outdoor unit dead, blower runs")))
	require.NoError(t, s.services[1].Receive(t.Context(), written("m2", "", "Ana", "new job the other house: outdoor unit dead, blower runs")))
	f[0].unread.Store(2)
	in := written("m3", "", "Ana", "24 at the yellow outside")
	require.Error(t, s.services[0].Receive(t.Context(), in))
	require.NoError(t, s.services[0].Receive(t.Context(), in))
	_, events, err := s.store.Read(t.Context(), "@ana", true)
	require.NoError(t, err)
	require.Len(t, events, 1, "she has two jobs and is asked which")
	require.Equal(t, bot.EventHeld, events[0].Kind)
}

func TestAJobHasOneThreadInTheRoomWhoeverOpensIt(t *testing.T) {
	t.Parallel()
	s, f := faultyShops(t, withPhones(), 2)
	f[0].idle.Store(true)
	require.NoError(t, s.services[1].Receive(t.Context(), texted("m1", "outdoor unit dead, blower runs")))
	require.Eventually(t, func() bool { return len(s.services[0].OpenJobs(channel, "U-Dee")) == 1 }, 20*time.Second, time.Millisecond)
	f[0].deaf.Store(true) // it knows the job and not its thread
	s.settled(t)
	f[1].idle.Store(true)
	f[0].idle.Store(false)
	require.NoError(t, s.services[1].Receive(t.Context(), texted("m2", "27 at the yellow outside")))
	s.settled(t)
	opens := 0
	for _, d := range s.phones.delivered() {
		if d.out.Joins && d.out.Thread == "" {
			opens++
		}
	}
	require.Equal(t, 1, opens)
}

func TestANewJobIsNotOpenedInAThreadThatHasOne(t *testing.T) {
	t.Parallel()
	s, _ := faultyShops(t, larkmoor(), 1)
	one := s.services[0]
	require.NoError(t, one.Receive(t.Context(), written("m1", "t1", "Ana", "outdoor unit dead, blower runs")))
	require.NoError(t, one.Receive(t.Context(), written("m2", "t2", "Ana", "outdoor unit dead, blower runs")))
	held := written("m3", "", "Ana", "24 at the yellow outside")
	held.Starts = "s3"
	require.NoError(t, one.Receive(t.Context(), held))
	require.NoError(t, one.Receive(t.Context(), written("m4", "s3", "Ana", "it is another house, outdoor unit dead, blower runs")))
	in := written("m5", "s3", "Ana", "")
	in.Kind, in.Action = bot.Pressed, "place:new"
	require.NoError(t, one.Receive(t.Context(), in))
	names, err := s.store.Jobs(t.Context())
	require.NoError(t, err)
	require.Len(t, names, 3, "what was held is said on the one that is there")
}

// A hazard passes a notice that waits for the quiet hours to end, and leaves it where it is.
func TestANoticeWaitsApartFromWhatDoesNot(t *testing.T) {
	t.Parallel()
	c := larkmoor()
	now := time.Now().UTC()
	c.Policy.QuietHours = bot.QuietHours{From: now.Add(-time.Hour).Format("15:04"), To: now.Add(3 * time.Hour).Format("15:04")}
	c.Policy.Alarms = bot.Alarms{Slot: 10}
	c.TimeZone = "UTC"
	s, _ := faultyShops(t, c, 2)
	require.NoError(t, s.services[0].Receive(t.Context(), written("m1", "t1", "Ana", "outdoor unit dead, blower runs")))
	s.settled(t)
	s.later.Store(int64(11 * time.Minute))
	require.NoError(t, s.services[0].Watch(t.Context()))
	require.NoError(t, s.services[0].Receive(t.Context(), written("m2", "t1", "Ana", "I smell gas in the basement")))
	require.Eventually(t, func() bool {
		waiting, err := s.store.Pending(t.Context())
		return err == nil && len(waiting) == 1 && waiting[0].Notice
	}, 20*time.Second, 10*time.Millisecond, "the notice waits, and only it")
	store, err := s.store.Join(t.Context(), "larkmoor") // who comes now finds it in somebody's hands
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, store.Close()) })
	s.later.Store(int64(4 * time.Hour))
	for _, one := range s.services {
		require.NoError(t, one.Watch(t.Context()))
	}
	s.settled(t)
	told := map[string]int{}
	for _, d := range s.phones.delivered() {
		told[d.out.ID]++
	}
	for id, n := range told {
		require.Equal(t, 1, n, id)
	}
}
