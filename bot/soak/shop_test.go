package soak_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"proveout/bot"
	"proveout/bot/postgres"
	"proveout/knowledge"
)

// trade is the embedded knowledge, loaded once.
var trade = sync.OnceValues(func() (*knowledge.Base, error) { return knowledge.Load(knowledge.Embedded()) })

// The invented shop: too many technicians for one machine, and one channel.
const (
	shop    = "larkmoor"
	channel = "shopchat"
	room    = "service"
	techs   = 500
)

// silent is how long a job may be silent before somebody is told. It is longer than a
// soak, so that only the jobs made for it fall due.
const silent = 6 * time.Hour

func larkmoor() bot.Config {
	c := bot.Config{
		Shop: "Larkmoor Heating & Air",
		People: map[string]*bot.Person{
			"dee": {Name: "Dee", Role: bot.DispatcherRole, Identities: map[string]string{channel: "U-Dee"}},
			"sam": {Name: "Sam", Role: bot.SeniorRole, Identities: map[string]string{channel: "U-Sam"}},
		},
		Channels: map[string]bot.Channel{channel: {Conversation: room}},
		Policy:   bot.Policy{Alarms: bot.Alarms{NoReading: int(silent.Minutes()), ProposalWaiting: -1, Slot: -1}},
	}
	for i := range techs {
		c.People[technician(i)] = &bot.Person{Role: bot.TechnicianRole, Identities: map[string]string{channel: identity(i)}}
	}
	return c
}

func technician(n int) string { return fmt.Sprint("t", n%techs) }

func identity(n int) string { return fmt.Sprint("T", n%techs) }

func jobName(n int) string { return fmt.Sprintf("J-%04d", 1001+n) }

func thread(job int) string { return fmt.Sprint("thread-", job) }

// pattern is a job as the service records it: its events and the snapshot of them.
type pattern struct {
	events []bot.Event
	at     *bot.Snapshot
}

// newPattern has a service answer on one job, in a shop of its own.
func newPattern(ctx context.Context, d *postgres.Database) (p pattern, err error) {
	base, err := trade()
	if err != nil {
		return p, err
	}
	store, err := d.Own(ctx, "pattern")
	if err != nil {
		return p, err
	}
	defer func() { err = errors.Join(err, store.Close()) }()
	service, err := bot.New(store, base, larkmoor(), bot.Options{})
	if err != nil {
		return p, err
	}
	if err := service.Restore(ctx); err != nil {
		return p, err
	}
	for i, text := range []string{"no cooling at 12 Fenwick. outdoor unit dead, blower runs", "contactor isnt pulled in", "27 at the yellow outside"} {
		in := bot.Inbound{Channel: channel, ID: fmt.Sprint("p", i), Conversation: room, Thread: "pattern", From: identity(0), Kind: bot.Said, Text: text}
		if err := service.Receive(ctx, in); err != nil {
			return p, err
		}
	}
	if p.at, _, err = store.Read(ctx, jobName(0), false); err != nil {
		return p, err
	}
	_, p.events, err = store.Read(ctx, jobName(0), true)
	return p, err
}

// entry is the pattern as another job, whose last reading was at a time.
func (p pattern) entry(job int, heard time.Time) (*bot.Entry, error) {
	var live bot.Job
	if err := json.Unmarshal(p.at.Live, &live); err != nil {
		return nil, err
	}
	by := heard.Sub(live.LastReading)
	for _, at := range []*time.Time{&live.Opened, &live.LastActivity, &live.LastReading, &live.Moved, &live.Began, &live.Heard} {
		*at = at.Add(by)
	}
	live.ID, live.Technician, live.Home.Thread = jobName(job), technician(job), thread(job)
	b, err := json.Marshal(&live)
	e := &bot.Entry{Stream: live.ID, At: heard, Snapshot: &bot.Snapshot{Seq: live.Seq, Knowledge: p.at.Knowledge, Live: b, Talk: p.at.Talk}}
	for n, v := range p.events {
		if v.At = v.At.Add(by); v.Person != "" {
			v.Person = live.Technician
		}
		v.Place.Thread, v.Key.ID = live.Home.Thread, fmt.Sprintf("%s-%d", live.ID, n)
		e.Events = append(e.Events, v)
	}
	return e, err
}

// fill makes the shop's open jobs. The last of them are silent: they fall due one after
// another, and when each does is given.
func fill(ctx context.Context, address string, jobs, quiet int, began time.Time, over time.Duration) (due map[string]time.Time, err error) {
	// What a power cut could take of the preparation is not what is looked into.
	d, err := postgres.Open(ctx, address+"&synchronous_commit=off&pool_max_conns=8")
	if err != nil {
		return nil, err
	}
	defer d.Close()
	p, err := newPattern(ctx, d)
	if err != nil {
		return nil, err
	}
	store, err := d.Own(ctx, shop)
	if err != nil {
		return nil, err
	}
	due = map[string]time.Time{}
	heard := make([]time.Time, jobs)
	for job := range jobs {
		heard[job] = began
		if n := job - (jobs - quiet); n >= 0 {
			due[jobName(job)] = began.Add(over * time.Duration(n) / time.Duration(quiet))
			heard[job] = due[jobName(job)].Add(-silent)
		}
	}
	var next atomic.Int64
	failed := make(chan error, 8)
	for range cap(failed) {
		go func() {
			for job := int(next.Add(1)) - 1; job < jobs; job = int(next.Add(1)) - 1 {
				e, err := p.entry(job, heard[job])
				if err == nil {
					err = store.Append(ctx, e)
				}
				if err != nil {
					failed <- err
					return
				}
			}
			failed <- nil
		}()
	}
	for range cap(failed) {
		err = errors.Join(err, <-failed)
	}
	return due, errors.Join(err, store.Close())
}

// talk makes up what technicians write, from a seed.
type talk struct {
	chance   *rand.Rand
	jobs     int // those that are written to
	messages int
	threads  int
}

// next is what comes in next: most of it about jobs all over the shop; some about a few
// on which several things are said at once; and some in threads nobody has written in
// yet, two messages each.
func (t *talk) next(count int) []bot.Inbound {
	const few, together = 100, 3
	var out []bot.Inbound
	busy := make([]int, min(few, t.jobs))
	for i := range busy {
		busy[i] = t.chance.IntN(t.jobs)
	}
	for len(out) < count {
		switch kind := t.chance.IntN(20); {
		case kind < 16:
			job := t.chance.IntN(t.jobs)
			out = append(out, t.message(thread(job), job))
		case kind < 18 && len(out)+1 < count:
			t.threads++
			fresh := fmt.Sprint("fresh-", t.threads)
			first := t.message(fresh, t.threads)
			first.Text = "outdoor unit dead, blower runs"
			out = append(out, first, t.message(fresh, t.threads))
		default:
			job := busy[t.chance.IntN(len(busy))]
			for range min(together, count-len(out)) {
				out = append(out, t.message(thread(job), job))
			}
		}
	}
	return out
}

func (t *talk) message(in string, tech int) bot.Inbound {
	t.messages++
	texts := []string{"%d at the yellow outside", "%d at the yellow outside, 0 at the coil", "still %d at the yellow", "%d on the thermostat wire. why?"}
	text := texts[t.chance.IntN(len(texts))]
	return bot.Inbound{
		Channel: channel, ID: fmt.Sprint("m", t.messages), Conversation: room, Thread: in, From: identity(tech), Kind: bot.Said,
		Text: strings.Replace(text, "%d", fmt.Sprint(22+t.chance.IntN(7)), 1),
	}
}
