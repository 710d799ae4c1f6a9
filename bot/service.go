package bot

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/rs/zerolog"

	"proveout/dialog"
	"proveout/knowledge"
)

// Options are what a service may be given; the zero value is right for one that runs
// in earnest.
type Options struct {
	// Log takes what happens; nothing is logged without it. Above debug it names
	// jobs and people by their ids and holds no text and no number of anybody.
	Log zerolog.Logger
	// Now is the clock (the record's, where it is Shared; else time.Now).
	Now func() time.Time
	// Metrics counts what happens; nil counts nothing.
	Metrics *Metrics
	// Talks is how many jobs' talks are kept at hand (2,000).
	Talks int
	// Backoff is the least pause before a delivery is tried again (1 s), and Tries
	// how often it is tried (12).
	Backoff time.Duration
	Tries   int
	// Agents have the shop's agent, or make it; nil has it made for this shop alone.
	Agents *Agents
	// Checked says what a check of the shop's own knowledge found that is no mistake, and
	// Changed when one of its files was last changed; nil where nobody can say.
	Checked func() []string
	Changed func(file string) time.Time
	// Tick is how often alarms are looked at (15 s).
	Tick time.Duration
}

func (o Options) withDefaults() Options {
	if o.Now == nil {
		o.Now = time.Now
	}
	for _, d := range []struct {
		at   *time.Duration
		than time.Duration
	}{{&o.Backoff, time.Second}, {&o.Tick, 15 * time.Second}} {
		if *d.at == 0 {
			*d.at = d.than
		}
	}
	if o.Talks == 0 {
		o.Talks = 2000
	}
	if o.Tries == 0 {
		o.Tries = 12
	}
	if o.Metrics == nil {
		o.Metrics = NewMetrics(nil)
	}
	return o
}

// Service is the shop's desk: it takes what the channels bring in, keeps the
// record, answers, and tells whom it concerns. Register every channel, Restore, then
// Run. It may be shared between goroutines.
type Service struct {
	Options
	config   Config
	store    Store
	shared   Shared // the store, where other services write to it too; else nil
	base     *knowledge.Base
	agent    *dialog.Agent
	version  string // of what the agent knows
	commands commands
	people   people
	zone     *time.Location // the shop's
	table    *table
	talks    *recent[kept]
	locks    locks
	out      *outbox
	next     atomic.Int64 // the number of the newest job

	histories *recent[*history]
	looked    locks // of the jobs being looked at
	changes   changes
	foresight *foresight

	ready atomic.Bool
	desks desks
	// following is held while what was written is taken in.
	following sync.Mutex
	turned    strangers
	early     early
	floods    floods
	swept     time.Time // when old jobs were last erased; only Run touches it
}

// New makes the service of a shop. It reads nothing yet; the error names what in the
// configuration or the knowledge is at fault.
func New(store Store, base *knowledge.Base, config Config, o Options) (*Service, error) {
	config = config.withDefaults()
	known, err := o.Agents.of(base, config)
	if err != nil {
		return nil, err
	}
	zone, err := config.Location()
	if err != nil {
		return nil, err
	}
	table, err := newTable()
	if err != nil {
		return nil, err
	}
	shared, _ := store.(Shared)
	if shared != nil && o.Now == nil {
		o.Now = shared.Now
	}
	o = o.withDefaults()
	s := &Service{
		Options: o, config: config, store: store, shared: shared, base: known.base, agent: known.agent, commands: known.commands, version: known.version,
		people: newPeople(config), zone: zone, table: table, talks: newRecent[kept](o.Talks),
		histories: newRecent[*history](historiesKept), foresight: newForesight(),
	}
	s.out = newOutbox(s)
	s.next.Store(firstJob - 1)
	return s, nil
}

// GarbagePercent is what a program that serves sets its collector to (runtime/debug): twice
// the usual garbage between collections costs a shop of 10,000 open jobs some 30 MiB, and
// takes a fifth off the slowest message in a hundred.
const GarbagePercent = 200

// firstJob is the number of a shop's first job.
const firstJob = 1001

// Version is the version of what the agent knows, as events bear it.
func (s *Service) Version() string { return s.version }

// Agent is what answers.
func (s *Service) Agent() *dialog.Agent { return s.agent }

// Ready says whether the service can take messages, and if not, why.
func (s *Service) Ready() error {
	if !s.ready.Load() {
		return &Error{Code: CodeClosed, Text: "the record is not read yet"}
	}
	return nil
}

// Register names the sender of a channel. It must come before Run.
func (s *Service) Register(channel string, sender Sender) error {
	return s.out.register(channel, sender)
}

// Restore reads the open jobs and what waits to be delivered from the record.
func (s *Service) Restore(ctx context.Context) error {
	const together = 512
	var jobs []*Job
	err := s.store.Restore(ctx, func(stream string, at *Snapshot, after []Event) error {
		if person, ok := strings.CutPrefix(stream, "@"); ok {
			s.desks.fold(person, after)
			return nil
		}
		j, err := jobFrom(at, after)
		if err != nil {
			return fmt.Errorf("reading job %s: %w", stream, err)
		}
		s.saw(stream)
		if jobs = append(jobs, j); len(jobs) == together {
			err = s.table.put(jobs...)
			jobs = jobs[:0]
		}
		return err
	})
	if err != nil {
		return err
	}
	if err := s.table.put(jobs...); err != nil {
		return err
	}
	newest, err := s.store.Newest(ctx)
	if err != nil {
		return err
	}
	s.saw(newest) // it may be closed, and those before it erased
	if s.shared == nil {
		waiting, err := s.store.Pending(ctx)
		if err != nil {
			return err
		}
		for i := range waiting {
			waiting[i].Again = true
		}
		s.out.add(waiting...)
	}
	s.ready.Store(true)
	return nil
}

// jobFrom folds a job from its snapshot and what came after.
func jobFrom(at *Snapshot, after []Event) (*Job, error) {
	var j *Job
	if at != nil {
		j = &Job{}
		if err := json.Unmarshal(at.Live, j); err != nil {
			return nil, err
		}
	}
	for i := range after {
		j = apply(j, &after[i])
	}
	return j, nil
}

// saw keeps the numbers of new jobs above one that is there.
func (s *Service) saw(job string) {
	n, err := strconv.ParseInt(strings.TrimPrefix(job, "J-"), 10, 64)
	for err == nil {
		old := s.next.Load()
		if n <= old || s.next.CompareAndSwap(old, n) {
			return
		}
	}
}

// Run delivers and watches until the context ends; then it finishes what it has taken. It
// ends by itself, with an error, where other services go on without this one. Restore
// comes first.
func (s *Service) Run(ctx context.Context) error {
	if err := s.Ready(); err != nil {
		return err
	}
	ctx, end := context.WithCancelCause(ctx)
	defer end(nil)
	var wg sync.WaitGroup
	if s.shared != nil {
		wg.Go(func() {
			end(s.shared.Hold(ctx))
			s.ready.Store(false) // nothing is taken that others may have to answer
		})
		wg.Go(func() { s.share(ctx) })
	}
	wg.Go(func() { s.out.run(ctx) })
	wg.Go(func() { s.foresee(ctx) })
	tick := time.NewTicker(s.Tick)
	defer tick.Stop()
	for {
		select {
		case <-tick.C:
			if err := s.Watch(ctx); err != nil && ctx.Err() == nil {
				s.Log.Error().Err(err).Msg("looking for alarms")
			}
			s.expire(ctx)
		case <-ctx.Done():
			wg.Wait()
			s.ready.Store(false)
			if err := context.Cause(ctx); CodeOf(err) == CodeUnreachable {
				return err
			}
			return nil
		}
	}
}

// expire erases, once a day, the closed jobs that are older than the shop keeps them.
func (s *Service) expire(ctx context.Context) {
	now, days := s.Now(), s.config.Retention.Days
	if days <= 0 || now.Sub(s.swept) < 24*time.Hour {
		return
	}
	s.swept = now
	n, err := s.store.Expire(ctx, now.AddDate(0, 0, -days))
	switch {
	case err != nil && ctx.Err() == nil:
		s.Log.Error().Err(err).Msg("erasing old jobs")
	case n > 0:
		s.Log.Info().Int("jobs", n).Msg("old jobs erased")
	}
}

// Flush waits until everything in the outbox that need not wait for the quiet hours to
// end was delivered or given up.
func (s *Service) Flush(ctx context.Context) error { return s.out.flush(ctx) }

// newSnapshot is a job as it stands. It goes with every entry: whoever has not the talk at
// hand, after a restart or because another service answered last, would else work the
// messages since over again, each of which costs more than writing it down.
func newSnapshot(j *Job, talk *dialog.Job, version string) (*Snapshot, error) {
	live, err := json.Marshal(j)
	if err != nil {
		return nil, fmt.Errorf("writing job %s down: %w", j.ID, err)
	}
	state, err := talk.State()
	if err != nil {
		return nil, err
	}
	return &Snapshot{Seq: j.Seq, Knowledge: version, Live: live, Talk: state}, nil
}

// load gives a job with its talk, from what is at hand or from the record; nil when
// there is none.
func (s *Service) load(ctx context.Context, id string) (*Job, kept, error) {
	if j := s.table.job(id); j != nil {
		if k, ok := s.talks.get(id); ok && k.seq == j.Seq {
			return j, k, nil
		}
	}
	at, after, err := s.store.Read(ctx, id, false)
	talk := s.agent.Open()
	if err == nil && at != nil {
		// What another version of the program wrote is folded from the messages.
		if state, unreadable := dialog.ReadState(at.Talk); unreadable == nil && !changedLater(after) {
			talk = state
		} else {
			at, after, err = s.store.Read(ctx, id, true)
		}
	}
	if err != nil || at == nil && len(after) == 0 {
		return nil, kept{}, err
	}
	j, err := jobFrom(at, after)
	if err != nil {
		return nil, kept{}, fmt.Errorf("reading job %s: %w", id, err)
	}
	return j, kept{seq: j.Seq, talk: fold(s.agent, talk, after, nil)}, nil
}
