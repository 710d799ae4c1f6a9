package postgres_test

import (
	"context"
	"fmt"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
)

func TestWhoDoesNotKnowWhatASpeakerDidLastIsRefused(t *testing.T) {
	t.Parallel()
	url := address(t)
	one, other := join(t, open(t, url), "shop"), join(t, open(t, url), "shop")
	by := func(id, stream string, after int64, since bot.Mark) *bot.Entry {
		e := said(id, after)
		e.Stream, e.Speaker, e.Since, e.Events[0].Person = stream, "ana", since, "ana"
		return e
	}
	require.NoError(t, one.Append(t.Context(), by("m1", "J-1001", 0, bot.Mark{})))
	require.Equal(t, bot.CodeConflict, bot.CodeOf(other.Append(t.Context(), by("m2", "J-1002", 0, bot.Mark{}))), "it would open a second job")
	last, streams, err := other.Stands(t.Context(), "ana")
	require.NoError(t, err)
	require.Equal(t, bot.Mark{Stream: "J-1001", Seq: 1}, last)
	require.Empty(t, streams, "nothing was opened")
	require.NoError(t, other.Append(t.Context(), by("m2", "J-1001", 1, last)))
	require.Equal(t, bot.CodeSeen, bot.CodeOf(one.Append(t.Context(), by("m2", "J-1001", 1, bot.Mark{}))), "a repeat is a repeat first of all")

	opens := by("m3", "J-1003", 0, bot.Mark{Stream: "J-1001", Seq: 2})
	opens.Events[0].Kind = bot.EventOpened
	opens.With = &bot.Entry{Stream: "@ana", At: opens.At, Events: []bot.Event{{Kind: bot.EventPlaced, At: opens.At, Person: "ana"}}}
	require.NoError(t, one.Append(t.Context(), opens))
	last, streams, err = other.Stands(t.Context(), "ana")
	require.NoError(t, err)
	require.Equal(t, bot.Mark{Stream: "@ana", Seq: 1}, last)
	require.ElementsMatch(t, []bot.Mark{{Stream: "@ana", Seq: 1}, {Stream: "J-1003", Seq: 1}}, streams)
}

// Many write at once, and one follows all the while: it misses nothing, whatever order
// the transactions end in.
func TestWhatOthersWriteIsFollowedAndNothingMissed(t *testing.T) {
	t.Parallel()
	url := address(t)
	const streams, events = 8, 25
	writers := [2]*postgres.Store{join(t, open(t, url), "shop"), join(t, open(t, url), "shop")}
	follower := join(t, open(t, url), "shop")
	require.NoError(t, follower.Restore(t.Context(), func(string, *bot.Snapshot, []bot.Event) error { return nil }))
	require.NoError(t, follower.Append(t.Context(), said("own", 0)))
	var wg sync.WaitGroup
	for n := range streams {
		wg.Go(func() {
			for i := range int64(events) {
				e := said(fmt.Sprintf("m%d-%d", n, i), i)
				e.Stream = fmt.Sprint("J-2", n)
				if err := writers[n%2].Append(t.Context(), e); err != nil {
					t.Error(err)
				}
			}
		})
	}
	done := make(chan struct{})
	go func() { defer close(done); wg.Wait() }()
	got := map[string]int64{}
	follow := func() {
		news := func(m bot.Mark) bool { return m.Seq > got[m.Stream] }
		require.NoError(t, follower.Follow(t.Context(), news, func(e bot.Event) error {
			require.Equal(t, got[e.Stream]+1, e.Seq, "of one stream in order")
			got[e.Stream] = e.Seq
			return nil
		}))
	}
	for writing := true; writing; follow() {
		select {
		case <-done:
			writing = false
		default:
		}
	}
	require.Len(t, got, streams+1)
	require.EqualValues(t, 1, got["J-1001"], "its own too: it may have lost the answer")
	delete(got, "J-1001")
	for stream, seq := range got {
		require.EqualValues(t, events, seq, stream)
	}
}

func TestALaneIsDeliveredByOneServiceUntilItDies(t *testing.T) {
	t.Parallel()
	url := address(t)
	one, other := join(t, open(t, url), "shop"), join(t, open(t, url), "shop")
	put := func(s *postgres.Store, id, thread string) {
		e := &bot.Entry{Key: bot.Key{Channel: "slack", ID: id}, At: time.Now(), Out: []bot.Outbound{{ID: id, Channel: "slack", Conversation: "C1", Thread: thread}}}
		require.NoError(t, s.Append(t.Context(), e))
	}
	take := func(s *postgres.Store) []string {
		ms, err := s.Take(t.Context(), 10)
		require.NoError(t, err)
		ids := []string{}
		for _, m := range ms {
			if m.Again {
				m.ID += " again"
			}
			ids = append(ids, m.ID)
		}
		return ids
	}
	settle := func(s *postgres.Store, id string) {
		require.NoError(t, s.Settle(t.Context(), bot.Delivery{ID: id, Channel: "slack", At: time.Now(), External: "x" + id}))
	}
	put(one, "a1", "a")
	put(other, "a2", "a")
	put(one, "b1", "b")
	require.ElementsMatch(t, []string{"a1", "a2", "b1"}, take(one))
	require.Empty(t, take(one), "each is given once")
	put(other, "a3", "a")
	put(other, "c1", "c")
	require.Equal(t, []string{"c1"}, take(other), "the lane of a3 is the other's")
	settle(one, "a1")
	<-one.Woken()
	require.Equal(t, []string{"a3"}, take(one), "who has the lane takes it, told or not")
	settle(one, "a2")
	settle(one, "a3")
	put(other, "a4", "a")
	require.Equal(t, []string{"a4"}, take(other), "a lane that is empty is anybody's")
	settle(other, "a4")
	put(one, "b2", "b")

	ctx, cancel := context.WithCancel(t.Context())
	held := make(chan error, 1)
	go func() { held <- other.Hold(ctx) }()
	require.NoError(t, one.Close()) // it dies with b1 in hand
	var got []string
	for len(got) == 0 {
		<-other.Woken()
		got = take(other)
	}
	require.Equal(t, []string{"b1 again", "b2 again"}, got)
	cancel()
	require.NoError(t, <-held)
	put(other, "d1", "d")
	_, err := one.Take(t.Context(), 10)
	require.Error(t, err, "who is taken for dead takes no more")
}

// A service is killed while the database is still at work on what it asked for last.
func TestALaneTakenByAServiceThatDiesMeanwhileIsTakenOver(t *testing.T) {
	t.Parallel()
	url := address(t)
	one, other := join(t, open(t, url), "shop"), join(t, open(t, url), "shop")
	e := &bot.Entry{Key: bot.Key{Channel: "slack", ID: "a1"}, At: time.Now(), Out: []bot.Outbound{{ID: "a1", Channel: "slack", Conversation: "C1", Thread: "a"}}}
	require.NoError(t, one.Append(t.Context(), e))
	c, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	_, err = c.Exec(t.Context(), `SELECT set_config('proveout.shop', 'shop', false); BEGIN;
		SELECT FROM services WHERE number = (SELECT min(number) FROM services) FOR KEY SHARE;
		UPDATE lanes SET holder = (SELECT min(number) FROM services), taken = puts`)
	require.NoError(t, err)
	require.NoError(t, one.Close())

	require.NoError(t, postgres.Free(t.Context(), other), "it waits for nobody")
	got, err := other.Take(t.Context(), 10)
	require.NoError(t, err)
	require.Empty(t, got)
	_, err = c.Exec(t.Context(), "COMMIT")
	require.NoError(t, err)
	require.NoError(t, postgres.Free(t.Context(), other))
	got, err = other.Take(t.Context(), 10)
	require.NoError(t, err)
	require.Equal(t, "a1", got[0].ID)
	require.True(t, got[0].Again)
}

func TestTheServicesGoByTheDatabasesClock(t *testing.T) {
	t.Parallel()
	url := address(t)
	for _, off := range []time.Duration{0, 5 * time.Minute, -5 * time.Minute} {
		d := open(t, url)
		d.Clock = func() time.Time { return time.Now().Add(off) }
		require.WithinDuration(t, time.Now(), join(t, d, "shop").Now(), 5*time.Second, "the database is on this machine")
	}
}

func TestADatabaseOfTheVersionBeforeIsOpened(t *testing.T) {
	t.Parallel()
	url := address(t)
	c, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	first, err := os.ReadFile("migrations/0001_record.sql")
	require.NoError(t, err)
	_, err = c.Exec(t.Context(), string(first)+`
		CREATE TABLE schema_steps (version integer PRIMARY KEY, at timestamptz NOT NULL DEFAULT now());
		INSERT INTO schema_steps (version) VALUES (1);
		SELECT set_config('proveout.shop', 'shop', false);
		INSERT INTO owners VALUES ('shop', 7, false);
		INSERT INTO streams VALUES ('shop', 'J-1001', 1, now(), NULL);
		INSERT INTO events (shop, stream, seq, at, kind, person, knowledge, body) VALUES ('shop', 'J-1001', 1, now(), 'opened', 'ana', 'v1', '{"text":"outdoor unit dead"}');
		INSERT INTO outbox (shop, id, stream, at, state, channel, body) VALUES
			('shop', 'm1', 'J-1001', now(), 'sent', 'slack', '{}'),
			('shop', 'm2', 'J-1001', now(), 'pending', 'slack', '{"ID":"m2","Channel":"slack","Conversation":"C1","Thread":"1"}'),
			('shop', 'm3', 'J-1001', now(), 'pending', 'slack', '{"ID":"m3","Channel":"slack","Conversation":"C1","Thread":"1"}');`)
	require.NoError(t, err)

	d := open(t, url)
	s := join(t, d, "shop")
	_, events, err := s.Read(t.Context(), "J-1001", true)
	require.NoError(t, err)
	require.Equal(t, "outdoor unit dead", events[0].Text)
	_, streams, err := s.Stands(t.Context(), "ana")
	require.NoError(t, err)
	require.Equal(t, []bot.Mark{{Stream: "J-1001", Seq: 1}}, streams)
	waiting, err := s.Take(t.Context(), 10)
	require.NoError(t, err)
	require.Len(t, waiting, 2)
	require.Equal(t, "m2", waiting[0].ID)
	require.True(t, waiting[0].Again)
	for _, m := range waiting {
		require.NoError(t, s.Settle(t.Context(), bot.Delivery{ID: m.ID, Channel: "slack", At: time.Now()}))
	}
	waiting, err = join(t, d, "shop").Take(t.Context(), 10)
	require.NoError(t, err)
	require.Empty(t, waiting)
}
