package sqlite_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// words are what nobody may find after they were erased.
const words = "the dog at 12 Fenwick bites"

func talkOf(person, name string) *bot.Entry {
	k := bot.Key{Channel: "sms", ID: person}
	at := bot.Place{Channel: "sms", Conversation: "+1 555 0142", Thread: person}
	return &bot.Entry{
		Key: k, Stream: "J-1001", At: noon(), Words: name + " " + words,
		Events: []bot.Event{
			{Kind: bot.EventOpened, At: noon(), Person: person, Key: k, Place: at, Text: words},
			{Kind: bot.EventSaid, At: noon(), Person: person, Name: name, Key: k, Place: at, Text: words},
			{Kind: bot.EventAnswered, At: noon(), Key: k, Text: name + " confirmed it. Also done.", Reply: &bot.Answer{Status: "closed"}},
			{Kind: bot.EventDead, At: noon(), Of: "sms/" + person + ".0", For: person, Text: "absent subscriber"},
		},
		Out:      []bot.Outbound{{ID: "sms/" + person + ".0", Channel: "sms", Conversation: "+1 555 0142", Text: words}},
		Snapshot: &bot.Snapshot{Seq: 4, Live: []byte(words), Talk: []byte(words)},
	}
}

func TestWhoIsForgottenIsNowhereInTheFile(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "record.db")
	s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.NoError(t, err)
	e := talkOf("al", "Al")
	require.NoError(t, s.Append(t.Context(), e))
	require.Equal(t, bot.CodeInvalid, bot.CodeOf(s.ForgetPerson(t.Context(), "al")), "his job is open")
	require.NoError(t, s.Append(t.Context(), &bot.Entry{Stream: "J-1001", After: 4, At: noon(), Closed: true, Events: []bot.Event{{Kind: bot.EventClosed, At: noon()}}}))
	require.NoError(t, s.ForgetPerson(t.Context(), "al"))
	require.Equal(t, bot.CodeNotFound, bot.CodeOf(s.ForgetPerson(t.Context(), "al")))
	_, events, err := s.Read(t.Context(), "J-1001", true)
	require.NoError(t, err)
	require.Len(t, events, 5)
	require.True(t, events[1].Forgotten)
	require.Equal(t, "somebody confirmed it. Also done.", events[2].Text)
	for term, want := range map[string][]string{"Al": nil, "fenwick": nil, "1001": {"J-1001"}} {
		found, err := s.Find(t.Context(), []string{term}, 10)
		require.NoError(t, err)
		require.Equal(t, want, found, term)
	}
	require.Equal(t, bot.Gone, events[3].For)
	require.NoError(t, s.Close())
	gone(t, path)
}

func TestAForgottenJobIsNowhereInTheFile(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "record.db")
	s, err := sqlite.Open(t.Context(), path, sqlite.Options{})
	require.NoError(t, err)
	require.NoError(t, s.Append(t.Context(), talkOf("al", "Al")))
	require.NoError(t, s.ForgetJob(t.Context(), "J-1001"))
	require.Equal(t, bot.CodeNotFound, bot.CodeOf(s.ForgetJob(t.Context(), "J-1001")))
	require.Equal(t, bot.CodeSeen, bot.CodeOf(s.Append(t.Context(), talkOf("al", "Al"))), "its messages are not taken again")
	require.NoError(t, s.Close())
	gone(t, path)
}

func gone(t *testing.T, path string) {
	t.Helper()
	for _, p := range []string{path, path + "-wal"} {
		b, err := os.ReadFile(p)
		if os.IsNotExist(err) {
			continue
		}
		require.NoError(t, err)
		require.NotContains(t, strings.ToLower(string(b)), "fenwick", p)
		require.NotContains(t, string(b), "555 0142", p)
	}
}
