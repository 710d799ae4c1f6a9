package postgres_test

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/bot/signin"
	"proveout/bot/sqlite"
)

// breaks is a source that is cut off at a table.
type breaks struct {
	postgres.Source
	at string
}

var errCut = errors.New("the power is gone")

func (b breaks) Rows(ctx context.Context, query string, take func([]any) error) error {
	if strings.Contains(query, "FROM "+b.at+" ") {
		return errCut
	}
	return b.Source.Rows(ctx, query, take)
}

func TestAMoveBrokenOffGoesOnAndNobodyAnswersBefore(t *testing.T) {
	t.Parallel()
	file, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), sqlite.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, file.Close()) })
	first := said("m1", 0)
	at := first.At
	first.Out = []bot.Outbound{
		{ID: "m1.0", Channel: "slack", Conversation: "D0ANA", Text: "read\x00so", Reply: &bot.Reply{Text: "read so"}},
		{ID: "m1.1", Channel: "slack", Text: "waits"},
	}
	first.Events[0].Place = bot.Place{Channel: "slack", Conversation: "C1", Thread: "1"}
	first.Events[0].Kind = bot.EventOpened
	first.Snapshot = &bot.Snapshot{Seq: 1, Live: []byte("{}"), Talk: []byte{0, 1}}
	require.NoError(t, file.Append(t.Context(), first))
	require.NoError(t, file.Settle(t.Context(), bot.Delivery{ID: "m1.0", Channel: "slack", At: at, Attempts: 1, External: "x1"}))
	require.NoError(t, file.PutPass(t.Context(), signin.Pass{ID: "p", Person: "ana", Code: []byte{1}, Made: at, Used: at, Until: at.AddDate(0, 0, 1)}))

	d := open(t, address(t))
	_, err = d.Move(t.Context(), "shop", breaks{file, "outbox"})
	require.ErrorIs(t, err, errCut)
	_, err = d.Own(t.Context(), "shop")
	require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
	require.ErrorContains(t, err, "run proveout migrate again")

	// The file has moved on since.
	require.NoError(t, file.Append(t.Context(), said("m2", 1)))
	counts, err := d.Move(t.Context(), "shop", file)
	require.NoError(t, err)
	require.Equal(t, postgres.Count{Table: "events", From: 2, To: 2}, counts[1])

	there := own(t, d, "shop")
	for _, whole := range []bool{true, false} {
		wantAt, want, err := file.Read(t.Context(), "J-1001", whole)
		require.NoError(t, err)
		gotAt, got, err := there.Read(t.Context(), "J-1001", whole)
		require.NoError(t, err)
		require.Equal(t, wantAt, gotAt)
		require.Equal(t, want, got)
	}
	job, err := there.JobAt(t.Context(), first.Events[0].Place)
	require.NoError(t, err)
	require.Equal(t, "J-1001", job)
	waiting, err := there.Pending(t.Context())
	require.NoError(t, err)
	require.Len(t, waiting, 1)
	last, err := there.LastAnswer(t.Context(), bot.Place{Channel: "slack", Conversation: "D0ANA"})
	require.NoError(t, err)
	require.Equal(t, "read\x00so", last.Text)
	sent, err := there.Sent(t.Context(), "slack", "x1")
	require.NoError(t, err)
	require.Equal(t, "m1.0", sent.ID)
	pass, err := there.Pass(t.Context(), "p")
	require.NoError(t, err)
	require.Equal(t, at, pass.Made)
	require.Equal(t, bot.CodeSeen, bot.CodeOf(there.Append(t.Context(), said("m2", 2))), "what was taken is not taken again")
	require.NoError(t, there.Append(t.Context(), said("m3", 2)))
	require.NoError(t, there.Close())

	_, err = d.Move(t.Context(), "shop", file)
	require.Equal(t, bot.CodeConflict, bot.CodeOf(err), "what is answered for here is not written over")
}
