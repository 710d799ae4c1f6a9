package sms_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"proveout/adapters/conformance"
	"proveout/adapters/sms/smstest"
)

// long are the parts of a long text.
func (l *line) long(reference string, texts ...string) []*smstest.Delivery {
	var out []*smstest.Delivery
	for i, text := range texts {
		d := l.Say(ana, shop, text)
		d.Concat = &smstest.Concat{Reference: reference, Part: i + 1, Total: len(texts)}
		out = append(out, d)
	}
	return out
}

func TestPartsAreOneTextWhateverTheirOrderAndHoweverOften(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	n := 0
	rapid.Check(t, func(r *rapid.T) {
		n++
		parts := l.long(fmt.Sprint("r", n), "24 at the yellow, ", "0 past the low ", "pressure switch, 250 ", "both sides")
		order := rapid.Permutation([]int{0, 1, 2, 3, 0, 1, 2, 3}).Draw(r, "order")
		for _, i := range order {
			require.NoError(t, l.Deliver(t.Context(), parts[i]))
		}
		got := desk.Got()
		require.Len(t, got, n, "once, and no more when its parts come again")
		require.Equal(t, "24 at the yellow, 0 past the low pressure switch, 250 both sides", got[n-1].Text)
		require.Equal(t, parts[0].SentAt.UnixMilli(), got[n-1].At.UnixMilli(), "the moment of the first")
	})
}

func TestPartsTakenSurviveARestart(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	parts := l.long("r", "24 at the yellow, ", "0 past the switch")
	require.NoError(t, l.Deliver(t.Context(), parts[1]))
	require.Empty(t, desk.Got())
	l.again(t, desk)
	require.NoError(t, l.Deliver(t.Context(), parts[0]))
	require.Equal(t, "24 at the yellow, 0 past the switch", texts(desk.Got()))
	l.again(t, desk)
	require.NoError(t, l.Deliver(t.Context(), parts[0]))
	require.Len(t, desk.Got(), 1, "what was handed over is known after a restart too")
	for _, name := range l.kept(t) {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		require.NotContains(t, string(text), "yellow", "the text itself is in the record, and nowhere else")
	}
	l.ahead.Store(int64(2 * time.Hour))
	require.NoError(t, l.adapter.HandOver(t.Context()))
	require.Empty(t, l.kept(t))
}

func (l *line) kept(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(l.options.Parts, "*"))
	require.NoError(t, err)
	return files
}

func TestPartsWhoseOthersNeverComeAreHandedOverAsTheyAre(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	parts := l.long("r", "24 at the yellow, ", "0 past the switch, ", "250 both sides")
	require.NoError(t, l.Deliver(t.Context(), parts[0]))
	require.NoError(t, l.Deliver(t.Context(), parts[2]))
	require.NoError(t, l.adapter.HandOver(t.Context()))
	require.Empty(t, desk.Got(), "it may yet come")
	l.ahead.Store(int64(6 * time.Minute))
	require.NoError(t, l.adapter.HandOver(t.Context()))
	require.Equal(t, "24 at the yellow,  … 250 both sides", texts(desk.Got()))
	require.InDelta(t, 1, l.counted(t, "proveout_sms_incomplete_total"), 0)
	require.NoError(t, l.Deliver(t.Context(), parts[1]))
	l.ahead.Store(int64(12 * time.Minute))
	require.NoError(t, l.adapter.HandOver(t.Context()))
	require.Equal(t, " … 0 past the switch,  … ", desk.Got()[1].Text, "late, and not lost")
}

func TestWhatCouldNotBeStoredIsHandedOverLater(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	parts := l.long("r", "24 at the yellow, ", "0 past the switch")
	require.NoError(t, l.Deliver(t.Context(), parts[0]))
	desk.Refuse(1)
	require.Error(t, l.Deliver(t.Context(), parts[1]))
	l.again(t, desk)
	require.NoError(t, l.adapter.HandOver(t.Context()))
	require.Equal(t, "24 at the yellow, 0 past the switch", texts(desk.Got()))
	require.NoError(t, l.Deliver(t.Context(), parts[1]))
	require.Len(t, desk.Got(), 1)
}

func TestAReferenceUsedAgainIsAnotherText(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	old := l.long("7", "24 at the yellow, ", "0 past the switch")
	require.NoError(t, l.Deliver(t.Context(), old[0]))
	fresh := l.long("7", "fuse is good, ", "coil reads 12")
	require.NoError(t, l.Deliver(t.Context(), fresh[0]))
	require.Equal(t, "24 at the yellow,  … ", texts(desk.Got()), "the other part of it would have come by now")
	require.NoError(t, l.Deliver(t.Context(), fresh[1]))
	third := l.long("7", "fuse is good, ", "coil reads 12")
	for _, d := range third {
		require.NoError(t, l.Deliver(t.Context(), d))
	}
	got := desk.Got()
	require.Equal(t, "fuse is good, coil reads 12", got[1].Text)
	require.Equal(t, "fuse is good, coil reads 12", got[2].Text)
	require.NotEqual(t, got[1].ID, got[2].ID)
}

func TestTooManyThatWaitLetTheOldestGo(t *testing.T) {
	t.Parallel()
	desk := &conformance.Desk{}
	l := open(t, desk)
	for i := range 1010 {
		l.ahead.Add(int64(time.Millisecond))
		require.NoError(t, l.Deliver(t.Context(), l.long(fmt.Sprint(i), "first, ", "second")[0]))
	}
	require.Len(t, desk.Got(), 10)
	require.LessOrEqual(t, len(l.kept(t)), 1000)
}
