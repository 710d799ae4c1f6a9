package bot

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"slices"
	"sync"
	"time"
)

// longestPause bounds the back-off between two tries, and atOnce the deliveries under
// way together.
const (
	longestPause = 5 * time.Minute
	atOnce       = 16
)

// outbox delivers what is in the record: in order within a thread, each message until
// it has arrived or is given up.
type outbox struct {
	*Service
	mu      sync.Mutex
	senders map[string]Sender
	lanes   map[Place][]Outbound
	parked  []Outbound           // until the quiet hours end
	flying  map[string]*Outbound // being sent, or sent and not noted yet, by ID
	running map[Place]bool
	start   func(Place)     // starts a lane; nil while the outbox does not run
	more    chan struct{}   // of a record that is shared: something may wait to be taken
	taking  sync.Mutex      // held while what was taken is being queued
	idle    []chan struct{} // closed when nothing waits any more
}

func newOutbox(s *Service) *outbox {
	return &outbox{Service: s, senders: map[string]Sender{}, lanes: map[Place][]Outbound{}, running: map[Place]bool{}, flying: map[string]*Outbound{}, more: make(chan struct{}, 1)}
}

func (o *outbox) register(channel string, sender Sender) error {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.senders[channel] != nil {
		return fmt.Errorf("registering the channel %s: it has a sender already", channel)
	}
	o.senders[channel] = sender
	return nil
}

// channels lists those that have a sender.
func (o *outbox) channels() []string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return slices.Sorted(maps.Keys(o.senders))
}

// lane is what a message must stay in order with.
func lane(m *Outbound) Place {
	if m.Joins {
		return Place{m.Channel, m.Conversation, "of " + m.Job}
	}
	at := Place{m.Channel, m.Conversation, m.Thread}
	if m.Conversation == "" {
		at = Place{m.Channel, "@" + m.To, ""}
	}
	if m.Notice { // it may have to wait where an answer and a hazard do not
		at.Thread += "!"
	}
	return at
}

// wrote takes messages that have just been put into the record. Of one that is shared
// they may lie in a lane that another service delivers.
func (o *outbox) wrote(ms []Outbound) {
	switch {
	case len(ms) == 0:
	case o.shared != nil:
		signal(o.more)
	default:
		o.add(ms...)
	}
}

// lanesTaken is how many lanes are taken at once.
const lanesTaken = 256

// take queues what waits in a shared record and no other service delivers; where there may
// be more, it is to be called again.
func (o *outbox) take(ctx context.Context) {
	o.taking.Lock()
	defer o.taking.Unlock()
	ms, err := o.shared.Take(ctx, lanesTaken)
	if err != nil && ctx.Err() == nil {
		o.Log.Error().Err(err).Msg("taking what is to be delivered")
	}
	if len(ms) > 0 {
		o.add(ms...)
		signal(o.more)
	}
}

// add queues messages that are in the record.
func (o *outbox) add(ms ...Outbound) {
	o.mu.Lock()
	defer o.mu.Unlock()
	for i := range ms {
		o.queue(ms[i])
	}
	o.Metrics.outbox.Add(float64(len(ms)))
}

// queue puts a message into its lane, or aside until it may go. The lock is held.
func (o *outbox) queue(m Outbound) {
	l := lane(&m)
	if o.waits(&m) || slices.ContainsFunc(o.parked, func(p Outbound) bool { return lane(&p) == l }) {
		o.parked = append(o.parked, m)
		return
	}
	o.lanes[l] = append(o.lanes[l], m)
	o.wake(l)
}

// wake starts a lane that is not running. The lock is held.
func (o *outbox) wake(l Place) {
	if o.start != nil && !o.running[l] && len(o.lanes[l]) > 0 {
		o.running[l] = true
		o.start(l)
	}
}

// run delivers until the context ends; what is then under way is finished.
func (o *outbox) run(ctx context.Context) {
	var wg sync.WaitGroup
	slots := make(chan struct{}, atOnce)
	o.mu.Lock()
	o.start = func(l Place) { wg.Go(func() { o.lane(ctx, l, slots) }) }
	for l := range o.lanes {
		o.wake(l)
	}
	o.mu.Unlock()
	<-ctx.Done()
	o.mu.Lock()
	o.start = nil
	o.mu.Unlock()
	wg.Wait()
}

// lane delivers a lane's messages one after another until none is left.
func (o *outbox) lane(ctx context.Context, l Place, slots chan struct{}) {
	for {
		o.mu.Lock()
		if len(o.lanes[l]) == 0 || ctx.Err() != nil {
			delete(o.running, l)
			if len(o.lanes[l]) == 0 {
				delete(o.lanes, l)
			}
			o.rest()
			o.mu.Unlock()
			return
		}
		m := o.lanes[l][0]
		o.mu.Unlock()
		if !o.deliver(ctx, m, slots) {
			continue // the context has ended
		}
		o.mu.Lock()
		o.lanes[l] = o.lanes[l][1:]
		o.mu.Unlock()
		o.Metrics.outbox.Dec()
	}
}

// rest tells those who wait for it that nothing is left. The lock is held.
func (o *outbox) rest() {
	if len(o.lanes) > 0 {
		return
	}
	for _, done := range o.idle {
		close(done)
	}
	o.idle = nil
}

// flush waits until nothing is left to deliver.
func (o *outbox) flush(ctx context.Context) error {
	for n := 1; ; n++ {
		if err := o.calm(ctx); err != nil || o.shared == nil {
			return err
		}
		drained, err := o.drained(ctx)
		if drained {
			return nil
		}
		if err != nil && !pause(ctx, backoff(o.Backoff, n)) {
			return ctx.Err()
		}
	}
}

// drained takes what waits in a shared record, and says whether there was nothing, and
// nothing that was taken waits.
func (o *outbox) drained(ctx context.Context) (bool, error) {
	o.taking.Lock()
	defer o.taking.Unlock()
	ms, err := o.shared.Take(ctx, lanesTaken)
	o.add(ms...)
	o.mu.Lock()
	defer o.mu.Unlock()
	return err == nil && len(ms) == 0 && len(o.lanes) == 0, err
}

// calm waits until nothing that was queued is left.
func (o *outbox) calm(ctx context.Context) error {
	done := make(chan struct{})
	o.mu.Lock()
	o.idle = append(o.idle, done)
	o.rest()
	o.mu.Unlock()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// deliver tries until the message has arrived or is given up, and notes it. It says
// whether either happened before the context ended.
func (o *outbox) deliver(ctx context.Context, m Outbound, slots chan struct{}) bool {
	log := o.Log.With().Str("correlation", m.ID).Str("channel", m.Channel).Logger()
	for n := 1; ; n++ {
		if o.stopped(&m) {
			o.Metrics.delivered("dead", m.Channel)
			o.dead(ctx, &m, Delivery{ID: m.ID, Channel: m.Channel, At: o.Now(), Attempts: n - 1, Dead: stopped})
			return true
		}
		id, err := o.try(ctx, m, slots)
		if err == nil {
			o.note(ctx, Delivery{ID: m.ID, Channel: m.Channel, At: o.Now(), Attempts: n, External: id})
			o.flies(&m, false)
			o.takeEarly(ctx, &m, id)
			o.Metrics.delivered("sent", m.Channel)
			return true
		}
		if ctx.Err() != nil {
			return false
		}
		again, after, reason := judged(err)
		o.Metrics.failed(m.Channel, reason)
		if !again || n >= o.Tries {
			log.Error().Err(err).Int("attempts", n).Msg("message given up")
			o.Metrics.delivered("dead", m.Channel)
			o.dead(ctx, &m, Delivery{ID: m.ID, Channel: m.Channel, At: o.Now(), Attempts: n, Dead: reason})
			return true
		}
		if after == 0 {
			after = backoff(o.Backoff, n)
		}
		log.Warn().Str("reason", reason).Int("attempts", n).Dur("after", after).Msg("delivery to be tried again")
		if !pause(ctx, after) {
			return false
		}
	}
}

func (o *outbox) try(ctx context.Context, m Outbound, slots chan struct{}) (string, error) {
	select {
	case slots <- struct{}{}:
		defer func() { <-slots }()
	case <-ctx.Done():
		return "", ctx.Err()
	}
	return o.carry(ctx, m)
}

// carry hands a message to its channel.
func (o *outbox) carry(ctx context.Context, m Outbound) (string, error) {
	o.mu.Lock()
	sender := o.senders[m.Channel]
	o.mu.Unlock()
	if sender == nil {
		return "", &DeliveryError{Reason: "no-channel", Err: errors.New("nothing sends to the channel " + m.Channel)}
	}
	if m.Joins {
		if already, err := o.join(ctx, &m); err != nil || already != "" {
			return already, err
		}
	}
	m.Drawing = o.drawn(ctx, &m)
	o.flies(&m, true)
	id, err := sender.Send(context.WithoutCancel(ctx), m) // what is under way is finished
	if err != nil {
		o.flies(&m, false)
	}
	if err == nil && m.Joins && m.Thread == "" {
		err = o.opened(ctx, &m, id)
	}
	return id, err
}

// judged reads what an adapter says of an error; an error that says nothing may pass.
func judged(err error) (again bool, after time.Duration, reason string) {
	if d, ok := errors.AsType[*DeliveryError](err); ok {
		return d.Retry, d.After, d.Reason
	}
	return true, 0, "other"
}

// backoff doubles the pause with every try, and shakes it so that many do not come
// back at once.
func backoff(least time.Duration, tries int) time.Duration {
	d := min(least<<min(tries-1, 20), longestPause)
	return d/2 + rand.N(d/2+1)
}

func pause(ctx context.Context, d time.Duration) bool {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
		return true
	case <-ctx.Done():
		return false
	}
}

// flies keeps a message while it is being sent, until its delivery is in the record.
func (o *outbox) flies(m *Outbound, on bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if delete(o.flying, m.ID); on {
		o.flying[m.ID] = m
	}
}

// echoes says whether an event is a message of ours that is being delivered where it
// comes from, and whose id nobody knows yet. What has been delivered is a key of the
// record.
func (o *outbox) echoes(in *Inbound) bool {
	o.mu.Lock()
	defer o.mu.Unlock()
	for _, m := range o.flying {
		if m.Channel == in.Channel && m.Conversation == in.Conversation && m.Text == in.Text {
			return true
		}
	}
	return false
}

// takeEarly takes the receipt of a message that came before its delivery was noted.
func (o *outbox) takeEarly(ctx context.Context, m *Outbound, id string) {
	in, ok := o.early.take(Key{m.Channel, id})
	if !ok {
		return
	}
	if err := o.received(context.WithoutCancel(ctx), m, in); err != nil {
		o.Log.Error().Err(err).Str("correlation", m.ID).Msg("taking a receipt")
	}
}

// note has a delivery in the record, and holds its lane up until it is. If the service
// ends before, the message is delivered again, which at-least-once allows.
func (o *outbox) note(ctx context.Context, d Delivery) {
	for n := 1; ; n++ {
		err := o.store.Settle(context.WithoutCancel(ctx), d)
		if err == nil {
			return
		}
		o.Log.Error().Err(err).Str("correlation", d.ID).Msg("noting a delivery")
		if !pause(ctx, backoff(o.Backoff, n)) {
			return
		}
	}
}
