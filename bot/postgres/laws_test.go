package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/postgres/postgrestest"
	"proveout/bot/recordlaws"
)

// server is the one all tests of the package share.
var server *postgrestest.Server

func TestMain(m *testing.M) { os.Exit(run(m)) }

func run(m *testing.M) int {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	var err error
	if server, err = postgrestest.Start(ctx); err != nil {
		fmt.Println(err)
		if os.Getenv("CI") == "true" || !errors.Is(err, postgrestest.ErrMissing) {
			return 1
		}
		return m.Run() // every test says that it is skipped
	}
	defer func() { _ = server.Stop() }()
	return m.Run()
}

// address is that of an empty database of the test's own.
func address(t *testing.T) string {
	t.Helper()
	if server == nil {
		t.Skip(postgrestest.ErrMissing)
	}
	url, err := server.Database(t.Context())
	require.NoError(t, err)
	return url
}

func open(t *testing.T, url string) *postgres.Database {
	t.Helper()
	d, err := postgres.Open(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(d.Close)
	return d
}

// join makes the test one of a shop's services.
func join(t *testing.T, d *postgres.Database, shop string) *postgres.Store {
	t.Helper()
	s, err := d.Join(t.Context(), shop)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

// own takes a shop for the test alone.
func own(t *testing.T, d *postgres.Database, shop string) *postgres.Store {
	t.Helper()
	s, err := d.Own(t.Context(), shop)
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() }) // some tests close it themselves
	return s
}

func TestEveryLawOfRecordsHolds(t *testing.T) {
	t.Parallel()
	d := open(t, address(t))
	for i, law := range recordlaws.Laws() {
		t.Run(law.Name, func(t *testing.T) {
			t.Parallel()
			require.NoError(t, law.Check(t.Context(), join(t, d, fmt.Sprintf("shop-%d", i))))
		})
	}
}

func TestEveryLawOfPassesHolds(t *testing.T) {
	t.Parallel()
	d := open(t, address(t))
	for i, law := range recordlaws.PassLaws() {
		t.Run(law.Name, func(t *testing.T) {
			t.Parallel()
			require.NoError(t, law.Check(t.Context(), join(t, d, fmt.Sprintf("passes-%d", i))))
		})
	}
}

func TestAShopSeesAndChangesNothingOfAnother(t *testing.T) {
	t.Parallel()
	url := address(t)
	d := open(t, url)
	at := time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC)
	place := bot.Place{Channel: "slack", Conversation: "shop", Thread: "1"}
	entry := func(text string) *bot.Entry {
		return &bot.Entry{
			Key: bot.Key{Channel: "slack", ID: "m1"}, Stream: "J-1001", At: at, Closed: true, Words: text,
			Events:   []bot.Event{{Stream: "J-1001", Seq: 1, At: at, Kind: bot.EventOpened, Person: "ana", Place: place, Text: text}, {Stream: "J-1001", Seq: 2, At: at, Kind: bot.EventClosed}},
			Out:      []bot.Outbound{{ID: "slack/m1.0", Channel: "slack", Text: text}},
			Snapshot: &bot.Snapshot{Seq: 1, Live: []byte("{}"), Talk: []byte{1}},
		}
	}
	one, other := join(t, d, "one"), join(t, d, "other")
	require.NoError(t, one.Append(t.Context(), entry("of the one")))

	snapshot, events, err := other.Read(t.Context(), "J-1001", false)
	require.NoError(t, err)
	require.Nil(t, snapshot)
	require.Empty(t, events)
	job, err := other.JobAt(t.Context(), place)
	require.NoError(t, err)
	require.Empty(t, job)
	jobs, err := other.Find(t.Context(), []string{"one"}, 10)
	require.NoError(t, err)
	require.Empty(t, jobs)
	waiting, err := other.Pending(t.Context())
	require.NoError(t, err)
	require.Empty(t, waiting)
	jobs, err = other.Jobs(t.Context())
	require.NoError(t, err)
	require.Empty(t, jobs)
	closings, err := other.Closings(t.Context())
	require.NoError(t, err)
	require.Empty(t, closings)
	require.NoError(t, other.Restore(t.Context(), func(string, *bot.Snapshot, []bot.Event) error { return errors.New("nothing is there") }))

	// What it writes under the same names is its own, and leaves the one's alone.
	n, err := other.Expire(t.Context(), at.AddDate(1, 0, 0))
	require.NoError(t, err)
	require.Zero(t, n)
	require.NoError(t, other.Settle(t.Context(), bot.Delivery{ID: "slack/m1.0", At: at, Dead: "taken"}))
	require.NoError(t, other.Append(t.Context(), entry("of the other")))
	waiting, err = one.Pending(t.Context())
	require.NoError(t, err)
	require.Len(t, waiting, 1)
	require.Equal(t, "of the one", waiting[0].Text)

	// The second wall: a statement that forgets to name the shop gets no row, and one
	// that names another cannot write.
	c, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	for _, table := range []string{"streams", "events", "inbound", "places", "outbox", "snapshots", "found", "shops", "lanes", "services"} {
		var rows int
		require.NoError(t, c.QueryRow(t.Context(), "SELECT count(*) FROM "+table).Scan(&rows))
		require.Zero(t, rows, table)
		require.NoError(t, pgx.BeginFunc(t.Context(), c, func(tx pgx.Tx) error {
			if _, err := tx.Exec(t.Context(), "SELECT set_config('proveout.shop', 'one', true)"); err != nil {
				return err
			}
			return tx.QueryRow(t.Context(), "SELECT count(*) FILTER (WHERE shop = 'one') + 100 * count(*) FILTER (WHERE shop <> 'one') FROM "+table).Scan(&rows)
		}))
		require.Positive(t, rows, table)
		require.Less(t, rows, 100, table)
		_, err := c.Exec(t.Context(), "UPDATE "+table+" SET shop = 'one' WHERE shop = 'other'")
		require.NoError(t, err) // no row of it is seen, so none is changed
	}
	_, err = c.Exec(t.Context(), "INSERT INTO inbound (shop, channel, id, at) VALUES ('one', 'slack', 'm9', now())")
	require.ErrorContains(t, err, "row-level security")
}

func TestARoleNothingBindsIsRefused(t *testing.T) {
	t.Parallel()
	address(t)
	_, err := postgres.Open(t.Context(), server.Superuser("postgres"))
	require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
	require.ErrorContains(t, err, "no superuser")
}

func TestASchemaOfANewerVersionIsRefused(t *testing.T) {
	t.Parallel()
	url := address(t)
	open(t, url)
	c, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	_, err = c.Exec(t.Context(), "INSERT INTO schema_steps (version) VALUES (999)")
	require.NoError(t, err)
	_, err = postgres.Open(t.Context(), url)
	require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
	require.ErrorContains(t, err, "newer version")
}

func TestAnAddressThatCannotBeReadShowsNoPassword(t *testing.T) {
	t.Parallel()
	_, err := postgres.Open(t.Context(), "postgres://ana:geheim@[bad/db")
	require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
	require.NotContains(t, err.Error(), "geheim")
}
