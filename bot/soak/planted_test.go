package soak_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"proveout/bot"
)

// sound is what a run leaves that broke no law: two messages on one job, answered in its
// thread, and a job that fell silent.
func sound() *testimony {
	at := time.Date(2026, 7, 6, 14, 0, 0, 0, time.UTC)
	said := func(stream string, seq int64, id string) fact {
		return fact{stream, seq, bot.Event{Kind: bot.EventSaid, Key: bot.Key{Channel: channel, ID: id}}}
	}
	answered := func(stream string, seq int64, readings int, progress bool) fact {
		return fact{stream, seq, bot.Event{Kind: bot.EventAnswered, Reply: &bot.Answer{Readings: readings, Progress: progress}}}
	}
	alarm := func(stream string, seq int64, kind bot.AlarmKind) fact {
		return fact{stream, seq, bot.Event{Kind: bot.EventAlarm, Alarm: kind}}
	}
	sent := func(id, job, text string, after time.Duration) Delivered {
		d := told(&bot.Outbound{ID: id, Job: job, Channel: channel, Conversation: room, Thread: job, Text: text})
		d.at = at.Add(after)
		return d
	}
	t := &testimony{
		acked: []string{"m1", "m2"},
		came: []Delivered{
			sent("shopchat/m1.0", "J-1", "one", 0), sent("shopchat/m2.0", "J-1", "two", time.Second), sent("shopchat/m1.0", "J-1", "one", 2*time.Second),
			sent("J-2/1.0", "J-2", "silent", time.Minute),
		},
		facts: []fact{
			{"J-1", 1, bot.Event{Kind: bot.EventOpened, Place: bot.Place{Channel: channel, Conversation: room, Thread: "a"}}},
			said("J-1", 2, "m1"), answered("J-1", 3, 1, false), alarm("J-1", 4, bot.AlarmStuck),
			said("J-1", 5, "m2"), answered("J-1", 6, 1, true), alarm("J-1", 7, bot.AlarmStuck),
			alarm("J-2", 2, bot.AlarmSilent),
		},
		read: at.Add(2 * time.Minute), due: map[string]time.Time{"J-2": at.Add(time.Minute)}, told: at.Add(2 * time.Minute), early: time.Second,
	}
	for _, d := range []Delivered{t.came[0], t.came[1], t.came[3]} {
		t.owed = append(t.owed, owed{d, "sent"})
	}
	return t
}

// A checker that finds nothing may be blind: each breach of a law that is planted is
// found, and named.
func TestEveryPlantedBreachIsFound(t *testing.T) {
	t.Parallel()
	require.Empty(t, sound().breaches())
	for name, c := range map[string]struct {
		plant func(*testimony)
		found string
	}{
		"acknowledged and not in the record": {func(s *testimony) { s.acked = append(s.acked, "m3") }, "lost: m3 was acknowledged"},
		"an event gone from the record":      {func(s *testimony) { s.facts = append(s.facts[:4:4], s.facts[5:]...) }, "lost: m2 was acknowledged"},
		"taken and not answered":             {func(s *testimony) { s.owed = s.owed[1:] }, "lost: m1 was taken and never answered"},
		"taken twice": {func(s *testimony) {
			s.facts = append(s.facts, fact{"J-3", 1, s.facts[1].Event})
		}, "twice: m1"},
		"a repeat with another text":   {func(s *testimony) { s.came[2].Text = digest("other") }, "differs: shopchat/m1.0"},
		"a repeat in another thread":   {func(s *testimony) { s.came[2].Lane = "elsewhere" }, "differs: shopchat/m1.0"},
		"sent and not in the record":   {func(s *testimony) { s.came[0].ID = "shopchat/m9.0" }, "unwritten: shopchat/m9.0"},
		"noted as sent and never come": {func(s *testimony) { s.came = s.came[:3] }, "undelivered: J-2/1.0 never came"},
		"still waiting":                {func(s *testimony) { s.owed[1].state = "pending" }, "undelivered: shopchat/m2.0 is pending"},
		"given up":                     {func(s *testimony) { s.owed[1].state = "dead" }, "undelivered: shopchat/m2.0 is dead"},
		"out of order":                 {func(s *testimony) { s.came[0], s.came[1] = s.came[1], s.came[0] }, "order: shopchat/m1.0 came after shopchat/m2.0"},
		"a hole among the events":      {func(s *testimony) { s.facts = append(s.facts[:2:2], s.facts[3:]...) }, "gap: J-1 goes on at 4 after 2"},
		"two jobs in one thread": {func(s *testimony) {
			s.facts = append(s.facts, fact{"J-3", 1, s.facts[0].Event})
		}, "thread: a is both J-1 and J-3"},
		"an alarm again, nothing new":  {func(s *testimony) { s.facts[5].Reply = &bot.Answer{Readings: 1} }, "alarm: no-progress of J-1"},
		"an alarm never given":         {func(s *testimony) { s.facts = s.facts[:len(s.facts)-1] }, "alarm: J-2 was due"},
		"an alarm by a clock that ran": {func(s *testimony) { s.came[3].at = s.came[3].at.Add(-5 * time.Minute) }, "alarm: J-2 came 5m0s before it was due"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := sound()
			c.plant(s)
			require.Contains(t, strings.Join(s.breaches(), "\n"), c.found)
		})
	}
}
