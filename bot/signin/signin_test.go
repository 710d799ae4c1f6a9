package signin_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/signin"
	"proveout/bot/sqlite"
)

// office is the shop: who is known, and the codes that were sent.
type office struct {
	mu   sync.Mutex // codes are sent side by side
	sent map[string][]string
	fail error
}

func (o *office) Colleague(id string) (bot.Member, bool) {
	names := map[string]string{"ana": "Ana", "sam": "Sam"}
	return bot.Member{ID: id, Name: names[id]}, names[id] != ""
}

func (o *office) Known(said string) (bot.Member, bool) { return o.Colleague(said) }

func (o *office) Identified(channel, identity string) (bot.Member, bool) {
	return o.Colleague(strings.TrimPrefix(channel+"/"+identity, "oidc/sub-"))
}

func (o *office) SendCode(_ context.Context, person, code string, _ time.Duration) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.sent[person] = append(o.sent[person], code)
	return o.fail
}

// desk is a desk on a record of the test's own, in a bubble of time.
type desk struct {
	*signin.Desk
	t      *testing.T
	office *office
	path   string
}

func atDesk(t *testing.T, test func(t *testing.T, d *desk)) {
	t.Helper()
	dir := t.TempDir()
	synctest.Test(t, func(t *testing.T) {
		d := &desk{t: t, office: &office{sent: map[string][]string{}}, path: filepath.Join(dir, "record.db")}
		store, err := sqlite.Open(t.Context(), d.path, sqlite.Options{})
		require.NoError(t, err)
		defer func() { require.NoError(t, store.Close()) }()
		d.Desk = signin.New(store, d.office, signin.Options{})
		test(t, d)
	})
}

// ask asks for a code and gives the ticket with it.
func (d *desk) ask(who string) (ticket, code string) {
	d.t.Helper()
	ticket, err := d.Ask(d.t.Context(), who, "198.51.100.7")
	require.NoError(d.t, err)
	d.Settle()
	if codes := d.office.sent[who]; len(codes) > 0 {
		code = codes[len(codes)-1]
	}
	return ticket, code
}

func (d *desk) enter(ticket, code string) (string, error) {
	return d.Enter(d.t.Context(), ticket, code, "198.51.100.7", "a phone")
}

func (d *desk) in(who string) string {
	d.t.Helper()
	token, err := d.enter(d.ask(who))
	require.NoError(d.t, err)
	return token
}

func wrong(code string) string {
	if code == "000000" {
		return "000001"
	}
	return "000000"
}

func TestACodeLetsItsPersonInOnce(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		ticket, code := d.ask("ana")
		require.Len(t, code, 6)
		_, err := d.enter(ticket, wrong(code))
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
		token, err := d.enter(ticket, code)
		require.NoError(t, err)
		s, err := d.Session(t.Context(), token)
		require.NoError(t, err)
		require.Equal(t, "Ana", s.Who.Name)
		require.Equal(t, "a phone", s.Device)
		_, err = d.enter(ticket, code)
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err), "a second time")
	})
}

func TestACodeIsGoodOnlyWithItsTicketAndInItsTime(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		ticket, code := d.ask("ana")
		other, _ := d.ask("sam")
		_, err := d.enter(other, code)
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
		time.Sleep(10*time.Minute + time.Second)
		_, err = d.enter(ticket, code)
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
	})
}

func TestWhoIsNotKnownIsToldNothing(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		ticket, err := d.Ask(t.Context(), "mallory", "198.51.100.7")
		require.NoError(t, err)
		require.NotEmpty(t, ticket)
		_, err = d.enter(ticket, "123456")
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
		d.office.fail = errors.New("no signal")
		d.ask("ana") // and a code that cannot be sent looks the same
		require.Empty(t, d.office.sent["mallory"])
	})
}

func TestCodesAreGuessedFiveTimesAtMost(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		ticket, code := d.ask("ana")
		for range 5 {
			_, err := d.enter(ticket, wrong(code))
			require.Equal(t, bot.CodeInvalid, bot.CodeOf(err))
		}
		_, err := d.enter(ticket, code)
		require.Equal(t, bot.CodeInvalid, bot.CodeOf(err), "the right one comes too late")
	})
}

func TestAPersonIsSentFewCodesAndAnAddressMayAskAndTryOnlySoOften(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		for i := range 9 {
			_, err := d.Ask(t.Context(), "ana", fmt.Sprint("198.51.100.", i))
			require.NoError(t, err)
		}
		d.Settle()
		require.Len(t, d.office.sent["ana"], 3)
		time.Sleep(15 * time.Minute)
		d.ask("ana")
		require.Len(t, d.office.sent["ana"], 4)

		var asked, tried bot.Code
		for range 30 {
			_, err := d.Ask(t.Context(), "sam", "203.0.113.9")
			asked = bot.CodeOf(err)
			_, err = d.Enter(t.Context(), "a ticket", "123456", "203.0.113.9", "")
			tried = bot.CodeOf(err)
		}
		require.Equal(t, bot.CodeLimited, asked)
		require.Equal(t, bot.CodeLimited, tried)
		_, err := d.Ask(t.Context(), "sam", "203.0.113.10")
		require.NoError(t, err, "another address may")
		d.Settle()
	})
}

func TestASessionEndsByItselfAndWhenItIsEnded(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		ended := func(token string) {
			t.Helper()
			_, err := d.Session(t.Context(), token)
			require.Equal(t, bot.CodeSignedOut, bot.CodeOf(err))
		}
		idle, used := d.in("ana"), d.in("ana")
		for range 29 {
			time.Sleep(24 * time.Hour)
			_, err := d.Session(t.Context(), used)
			require.NoError(t, err)
		}
		ended(idle)
		time.Sleep(24 * time.Hour)
		ended(used)
		ended("no token of ours")

		here, there, sams := d.in("ana"), d.in("ana"), d.in("sam")
		list, err := d.Sessions(t.Context(), "ana")
		require.NoError(t, err)
		require.Len(t, list, 2)
		s, err := d.Session(t.Context(), there)
		require.NoError(t, err)
		require.Equal(t, bot.CodeNotFound, bot.CodeOf(d.End(t.Context(), "sam", s.ID)), "another's")
		require.NoError(t, d.End(t.Context(), "ana", s.ID))
		ended(there)
		require.NoError(t, d.EndAll(t.Context(), "ana"))
		ended(here)
		_, err = d.Session(t.Context(), sams)
		require.NoError(t, err)
	})
}

func TestAProviderVouchesForThoseItIsKnownToKnow(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		token, err := d.Admit(t.Context(), "oidc", "sub-sam", "a desktop")
		require.NoError(t, err)
		s, err := d.Session(t.Context(), token)
		require.NoError(t, err)
		require.Equal(t, "sam", s.Who.ID)
		_, err = d.Admit(t.Context(), "oidc", "sub-mallory", "")
		require.Equal(t, bot.CodeForbidden, bot.CodeOf(err))
	})
}

func TestNothingThatIsKeptLetsAnybodyIn(t *testing.T) {
	t.Parallel()
	atDesk(t, func(t *testing.T, d *desk) {
		ticket, code := d.ask("sam")
		token := d.in("ana")
		s, err := d.Session(t.Context(), token)
		require.NoError(t, err)
		_, err = d.Session(t.Context(), s.ID)
		require.Equal(t, bot.CodeSignedOut, bot.CodeOf(err), "a session's id is not its token")
		for _, path := range []string{d.path, d.path + "-wal"} {
			kept, err := os.ReadFile(path)
			require.NoError(t, err)
			for _, secret := range []string{ticket, code, token} {
				require.NotContains(t, string(kept), secret)
			}
		}
	})
}
