package postgres_test

import (
	"context"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot"
)

func said(id string, after int64) *bot.Entry {
	at := time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC)
	return &bot.Entry{Key: bot.Key{Channel: "slack", ID: id}, Stream: "J-1001", After: after, At: at, Events: []bot.Event{{At: at, Kind: bot.EventSaid, Text: id}}}
}

func TestWhoWantsTheShopAloneWaitsUntilItsServicesAreGone(t *testing.T) {
	t.Parallel()
	url := address(t)
	d := open(t, url)
	first, second := join(t, d, "shop"), join(t, open(t, url), "shop")
	require.NoError(t, first.Append(t.Context(), said("m1", 0)))
	require.NoError(t, second.Append(t.Context(), said("m2", 1)), "both write")
	_, err := d.Own(t.Context(), "shop")
	require.Equal(t, bot.CodeLocked, bot.CodeOf(err))
	own(t, d, "another") // shops do not wait for each other
	require.NoError(t, second.Close())
	_, err = d.Own(t.Context(), "shop")
	require.Equal(t, bot.CodeLocked, bot.CodeOf(err))

	// The first loses its session and does not know.
	lost := make(chan error, 1)
	go func() { lost <- first.Hold(t.Context()) }()
	c, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	_, err = c.Exec(t.Context(), `SELECT pg_terminate_backend(pid, 5000) FROM pg_locks WHERE locktype = 'advisory' AND mode = 'ShareLock' AND granted
		AND database = (SELECT oid FROM pg_database WHERE datname = current_database())`)
	require.NoError(t, err)
	require.Equal(t, bot.CodeUnreachable, bot.CodeOf(<-lost), "it learns of it")
	alone := own(t, d, "shop")
	require.Eventually(t, func() bool { // a connection it wrote by may have died with its session
		return bot.CodeOf(first.Append(t.Context(), said("m3", 2))) == bot.CodeLocked
	}, 10*time.Second, 10*time.Millisecond, "who was taken for dead writes no more")
	require.Equal(t, bot.CodeLocked, bot.CodeOf(first.Settle(t.Context(), bot.Delivery{ID: "m1"})))
	require.Equal(t, bot.CodeSeen, bot.CodeOf(alone.Append(t.Context(), said("m1", 0))), "what was answered is there")
	require.NoError(t, alone.Append(t.Context(), said("m3", 2)))
}

func TestAShopNobodyHoldsIsReadAndNotWritten(t *testing.T) {
	t.Parallel()
	d := open(t, address(t))
	require.NoError(t, own(t, d, "shop").Append(t.Context(), said("m1", 0)))
	looking := d.Shop("shop")
	_, events, err := looking.Read(t.Context(), "J-1001", true)
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Equal(t, bot.CodeReadOnly, bot.CodeOf(looking.Append(t.Context(), said("m2", 1))))
	require.Equal(t, bot.CodeReadOnly, bot.CodeOf(looking.ForgetJob(t.Context(), "J-1001")))
}

func TestWhoIsForgottenIsNowhereInTheShop(t *testing.T) {
	t.Parallel()
	s := own(t, open(t, address(t)), "shop")
	e := said("m1", 0)
	const words = "the dog at 12 Fenwick bites"
	e.Events = append(e.Events, bot.Event{At: e.At, Kind: bot.EventAnswered, Text: "Al confirmed it. Also done.", Reply: &bot.Answer{}})
	e.Events[0].Person, e.Events[0].Name, e.Events[0].Text = "al", "Al", words
	e.Out = []bot.Outbound{{ID: "m1.0", Channel: "slack", Text: words}}
	e.Snapshot = &bot.Snapshot{Seq: 2, Live: []byte(words), Talk: []byte(words)}
	require.NoError(t, s.Append(t.Context(), e))
	require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.ForgetPerson(t.Context(), "al")), "his job is open")
	require.NoError(t, s.Append(t.Context(), &bot.Entry{Stream: "J-1001", After: 2, At: e.At, Closed: true, Events: []bot.Event{{Kind: bot.EventClosed, At: e.At}}}))
	require.NoError(t, s.ForgetPerson(t.Context(), "al"))
	require.Equal(t, bot.CodeNotFound, bot.CodeOf(s.ForgetPerson(t.Context(), "al")))
	at, events, err := s.Read(t.Context(), "J-1001", false)
	require.NoError(t, err)
	require.Nil(t, at)
	require.Len(t, events, 3)
	require.Equal(t, bot.Gone, events[0].Person)
	require.True(t, events[0].Forgotten)
	require.Empty(t, events[0].Text)
	require.Equal(t, "somebody confirmed it. Also done.", events[1].Text)
	waiting, err := s.Pending(t.Context())
	require.NoError(t, err)
	require.Empty(t, waiting)

	require.NoError(t, s.ForgetJob(t.Context(), "J-1001"))
	require.Equal(t, bot.CodeNotFound, bot.CodeOf(s.ForgetJob(t.Context(), "J-1001")))
	require.Equal(t, bot.CodeSeen, bot.CodeOf(s.Append(t.Context(), said("m1", 0))), "its messages are not taken again")
}
