package bot_test

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/sqlite"
)

// stormTexts are texted by each technician, within a minute; the whole thousand goes
// through the adapter in cmd/proveout.
const stormTexts = 40

func stormNumber(tech int) string { return fmt.Sprintf("+13035550%03d", 300+tech) }

func stormConfig(techs int) bot.Config {
	c := withPhones()
	for i := range techs {
		c.People[fmt.Sprintf("t%02d", i)] = &bot.Person{Role: bot.TechnicianRole, Identities: map[string]string{bot.Texts: stormNumber(i)}}
	}
	return c
}

// storm is what a gateway in trouble brings in of one technician's texts: one in ten
// twice, one in ten after the next.
func storm(chance *rand.Rand, tech int, began time.Time) []bot.Inbound {
	var out []bot.Inbound
	for n := range stormTexts {
		text := fmt.Sprintf("%d at the yellow outside", 20+n%9)
		if n == 0 {
			text = "outdoor unit dead, blower runs"
		}
		number := stormNumber(tech)
		out = append(out, bot.Inbound{
			Channel: bot.Texts, ID: fmt.Sprintf("%d-%d", tech, n), Conversation: number, From: number, Kind: bot.Said, Text: text,
			At: began.Add(time.Duration(n) * time.Minute / stormTexts),
		})
	}
	for i := 1; i+1 < len(out); i++ {
		if chance.IntN(10) == 0 {
			out[i], out[i+1] = out[i+1], out[i]
		}
	}
	for i := 0; i < len(out); i++ {
		if chance.IntN(10) == 0 {
			out = slices.Insert(out, min(len(out), i+1+chance.IntN(5)), out[i])
		}
	}
	return out
}

// A minute of the clock is not waited for: the bubble's time passes when all sleep.
func TestTheTextsOfAGatewayInTroubleAreEachTakenOnceInOrder(t *testing.T) {
	t.Parallel()
	techs := 5
	if testing.Short() {
		techs = 3
	}
	inShop(t, stormConfig(techs), func(t *testing.T, s *shop) {
		chance := rand.New(rand.NewPCG(6, 1000))
		var sends sync.Mutex
		s.phones.failBy(func(int, bot.Outbound) error {
			sends.Lock()
			defer sends.Unlock()
			if chance.IntN(20) == 0 {
				return &bot.DeliveryError{Retry: true, Reason: "gateway", Err: errors.New("502")}
			}
			return nil
		})
		began := time.Now()
		var wg sync.WaitGroup
		for tech := range techs {
			texts := storm(rand.New(rand.NewPCG(6, uint64(tech))), tech, began)
			wg.Go(func() {
				for _, in := range texts {
					if wait := time.Until(in.At); wait > 0 {
						time.Sleep(wait)
					}
					for s.Receive(t.Context(), in) != nil { // the gateway delivers it again
						time.Sleep(time.Second)
					}
				}
			})
		}
		wg.Wait()
		require.NoError(t, s.Flush(t.Context()))

		store, err := sqlite.Open(t.Context(), s.path, sqlite.Options{ReadOnly: true})
		require.NoError(t, err)
		defer func() { require.NoError(t, store.Close()) }()
		for tech := range techs {
			requireInOrder(t, s, store, tech)
		}
		answered := map[string]bool{}
		for _, d := range s.phones.delivered() {
			if d.out.Channel == bot.Texts {
				id, _, _ := strings.Cut(d.out.ID, ".")
				answered[id] = true
			}
		}
		require.Len(t, answered, techs*stormTexts, "every text was answered on the phone it came from")
		require.Empty(t, s.Undelivered())
	})
}

// requireInOrder requires that a technician's texts are in the record once each, and are
// read in the order he sent them.
func requireInOrder(t *testing.T, s *shop, store *sqlite.Store, tech int) {
	t.Helper()
	jobs := s.OpenJobs(bot.Texts, stormNumber(tech))
	require.Len(t, jobs, 1)
	_, events, err := store.Read(t.Context(), jobs[0].Job, true)
	require.NoError(t, err)
	var said []bot.Event
	for i := range events {
		e := &events[i]
		if e.Kind != bot.EventSaid {
			continue
		}
		at := len(said)
		if e.Before != 0 {
			at = slices.IndexFunc(said, func(o bot.Event) bool { return o.Seq == e.Before })
		}
		said = slices.Insert(said, at, *e)
	}
	require.Len(t, said, stormTexts)
	for n := range said {
		require.Equal(t, fmt.Sprintf("%d-%d", tech, n), said[n].Key.ID)
	}
	differences, _, err := bot.Replay(s.Agent(), s.Version(), events)
	require.NoError(t, err)
	require.Empty(t, differences)
}
