package postgres_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"reflect"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/postgres/postgrestest"
	"proveout/bot/recordlaws"
	"proveout/bot/signin"
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

func TestNoMethodReachesTheRecordOfAnotherShop(t *testing.T) {
	t.Parallel()
	d := open(t, address(t))
	of := reflect.TypeFor[*postgres.Store]()
	const opens, itself = "it opens a shop by the name it is given", "it is about this process and its session"
	require.Empty(t, recordlaws.Untried(of, map[string]string{
		"Join": opens, "Own": opens, "Shop": opens, "Move": opens, "Close": itself, "Hold": itself, "Now": itself, "Woken": itself,
	}), "write a wall for it in recordlaws, or say why none is needed")
	for _, wall := range recordlaws.Walls() {
		t.Run(wall.Method, func(t *testing.T) {
			t.Parallel()
			require.NoError(t, wall.Check(t.Context(), join(t, d, wall.Method+" theirs"), join(t, d, wall.Method+" mine")))
		})
	}
}

// The second wall: a statement that forgets to name the shop, or names another, gets no
// row of it and changes none, in every table there is.
func TestNoStatementReachesTheRowsOfAnotherShop(t *testing.T) {
	t.Parallel()
	url := address(t)
	d := open(t, url)
	for _, shop := range []string{"one", "other"} {
		s := join(t, d, shop)
		e := said("m1", 0)
		e.Words, e.Out = "alder", []bot.Outbound{{ID: "m1.0", Channel: "slack", Text: "read"}}
		e.Events[0].Kind, e.Events[0].Place = bot.EventOpened, bot.Place{Channel: "slack", Conversation: "shop", Thread: "1"}
		e.Snapshot = &bot.Snapshot{Seq: 1, Live: []byte("{}"), Talk: []byte{1}}
		require.NoError(t, s.Append(t.Context(), e))
		require.NoError(t, s.PutPass(t.Context(), signin.Pass{ID: "p", Person: "ana", Made: e.At, Used: e.At, Until: e.At}))
	}
	c, err := pgx.Connect(t.Context(), url)
	require.NoError(t, err)
	t.Cleanup(func() { _ = c.Close(context.Background()) })
	rows, err := c.Query(t.Context(), "SELECT relname FROM pg_class WHERE relkind IN ('r', 'p', 'v', 'm') AND relnamespace = 'public'::regnamespace AND relname <> 'schema_steps' ORDER BY relname")
	require.NoError(t, err)
	tables, err := pgx.CollectRows(rows, pgx.RowTo[string])
	require.NoError(t, err)
	require.Greater(t, len(tables), 8)

	// as runs statements for a shop, or for none, and takes them back.
	as := func(shop string, do func(tx pgx.Tx)) {
		tx, err := c.Begin(t.Context())
		require.NoError(t, err)
		if shop != "" {
			_, err = tx.Exec(t.Context(), "SELECT set_config('proveout.shop', $1, true)", shop)
			require.NoError(t, err)
		}
		do(tx)
		require.NoError(t, tx.Rollback(t.Context()))
	}
	count := func(tx pgx.Tx, table string) (ours, all int) {
		require.NoError(t, tx.QueryRow(t.Context(), "SELECT count(*) FILTER (WHERE shop = 'one'), count(*) FROM "+table).Scan(&ours, &all))
		return ours, all
	}
	changed := func(tx pgx.Tx, sql string) int64 {
		tag, err := tx.Exec(t.Context(), sql)
		require.NoError(t, err)
		return tag.RowsAffected()
	}
	for _, table := range tables {
		for _, shop := range []string{"", "nobody", "ONE", "one' OR '1'='1", "%"} { // unset first: once set, it is empty afterwards
			as(shop, func(tx pgx.Tx) {
				_, all := count(tx, table)
				require.Zero(t, all, "%s for %q", table, shop)
				require.Zero(t, changed(tx, "UPDATE "+table+" SET shop = shop"))
				require.Zero(t, changed(tx, "DELETE FROM "+table))
			})
		}
		as("one", func(tx pgx.Tx) {
			ours, all := count(tx, table)
			require.Positive(t, ours, table)
			require.Equal(t, ours, all, table)
			require.Zero(t, changed(tx, "UPDATE "+table+" SET shop = 'one' WHERE shop = 'other'"))
			require.Zero(t, changed(tx, "DELETE FROM "+table+" WHERE shop = 'other'"))
		})
		as("one", func(tx pgx.Tx) { // none is handed over either
			_, err := tx.Exec(t.Context(), "UPDATE "+table+" SET shop = 'other'")
			require.ErrorContains(t, err, "row-level security", table)
		})
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
