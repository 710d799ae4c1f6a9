package soak_test

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"maps"
	"math/rand/v2"
	"net"
	"net/rpc"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"proveout/bot"
)

// The channel is as impatient as channels are: a message not acknowledged after its
// patience is brought in again under its id, to whichever instance, after a pause that
// doubles up to the longest, or where nobody answers up to a shorter one. So much is under
// way at once; the rest waits in the channel.
const (
	patience     = 3 * time.Second
	longestPause = 4 * time.Second
	nobodyPause  = time.Second
	underWay     = 96
)

// Delivered is a message as it came to the channel.
type Delivered struct {
	ID   string
	Lane string // what it must stay in order with
	Job  string
	Text uint64 // a digest
	By   int    // the instance that brought it
	at   time.Time
}

// told is what the channel notes of a message.
func told(m *bot.Outbound) Delivered {
	lane := m.Conversation + "/" + m.Thread
	if m.Conversation == "" {
		lane = "@" + m.To
	}
	return Delivered{ID: m.ID, Lane: lane, Job: m.Job, Text: digest(m.Text)}
}

func digest(text string) uint64 {
	h := fnv.New64a()
	_, _ = h.Write([]byte(text)) // it never fails
	return h.Sum64()
}

// network is the channel: what it brings in and was acknowledged, and what came.
type network struct {
	instances []*instance
	slots     chan struct{}

	mu    sync.Mutex
	came  []Delivered
	acked map[string]ack // by the id of what was brought in
	fails map[string]int // tries that were not acknowledged, by why
	rates map[int64]int  // acknowledged, by the second
	sent  int            // brought in so far, acknowledged or not
	open  atomic.Int64   // not acknowledged yet
}

// ack is an acknowledgement.
type ack struct {
	by   int
	at   time.Time
	took time.Duration // since it was first brought in
}

func newNetwork(instances []*instance) *network {
	return &network{
		instances: instances, slots: make(chan struct{}, underWay),
		acked: map[string]ack{}, fails: map[string]int{}, rates: map[int64]int{},
	}
}

// answer answers at a socket what somebody may be asked, until the context ends.
func answer(ctx context.Context, at, name string, somebody any) error {
	server := rpc.NewServer()
	if err := server.RegisterName(name, somebody); err != nil {
		return err
	}
	l, err := (&net.ListenConfig{}).Listen(ctx, "unix", at)
	if err != nil {
		return err
	}
	context.AfterFunc(ctx, func() { _ = l.Close() })
	go func() {
		for {
			c, err := l.Accept()
			if err != nil {
				return // it was closed
			}
			go server.ServeConn(c)
		}
	}()
	return nil
}

// Deliver takes a message of an instance and gives the channel's id of it. It takes as
// long as a network does, so that there are always some under way.
func (n *network) Deliver(d Delivered, id *string) error {
	time.Sleep(time.Duration(5+d.Text%32) * time.Millisecond)
	n.mu.Lock()
	defer n.mu.Unlock()
	d.at = time.Now()
	n.came = append(n.came, d)
	*id = fmt.Sprint("d", len(n.came))
	return nil
}

// bring brings a message to the instances until one has acknowledged it.
func (n *network) bring(ctx context.Context, in bot.Inbound, chance *rand.Rand) {
	began := time.Now()
	for pause := 200 * time.Millisecond; ; {
		who := n.instances[chance.IntN(len(n.instances))]
		select {
		case n.slots <- struct{}{}:
		case <-ctx.Done():
			return
		}
		var ok bool
		err := who.ask("Receive", in, &ok, patience)
		<-n.slots
		n.note(in.ID, who.n, began, err)
		if err == nil {
			return
		}
		wait(ctx, pause/2+time.Duration(chance.Int64N(int64(pause))))
		longest := longestPause
		if errors.Is(err, errDown) || err.Error() == string(bot.CodeClosed) {
			longest = nobodyPause
		}
		pause = min(2*pause, longest)
	}
}

func (n *network) note(id string, by int, began time.Time, err error) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if err != nil {
		n.fails[err.Error()]++
		return
	}
	now := time.Now()
	n.acked[id] = ack{by, now, now.Sub(began)}
	n.rates[now.Unix()]++
	n.open.Add(-1)
}

// burst brings in messages over a second and returns when that is over; what waits in
// the channel goes on.
func (n *network) burst(ctx context.Context, messages []bot.Inbound, chance *rand.Rand) {
	const steps = 50
	n.mu.Lock()
	n.sent += len(messages)
	n.mu.Unlock()
	n.open.Add(int64(len(messages)))
	for part := range slices.Chunk(messages, max(1, (len(messages)+steps-1)/steps)) {
		for _, in := range part {
			in.At = time.Now()
			own := rand.New(rand.NewPCG(chance.Uint64(), 0))
			go n.bring(ctx, in, own)
		}
		wait(ctx, time.Second/steps)
	}
}

// failed counts the tries that were not acknowledged, by why.
func (n *network) failed() map[string]int {
	n.mu.Lock()
	defer n.mu.Unlock()
	return maps.Clone(n.fails)
}

// answered counts the messages that were.
func (n *network) answered() int {
	n.mu.Lock()
	defer n.mu.Unlock()
	return len(n.acked)
}

// latest is how long after an instance was killed the last of some messages was brought by
// another, and how many were.
func (n *network) latest(ids []string, killed time.Time, dead int) (brought int, last time.Duration) {
	n.mu.Lock()
	defer n.mu.Unlock()
	open := map[string]bool{}
	for _, id := range ids {
		open[id] = true
	}
	for i := range n.came {
		if d := &n.came[i]; open[d.ID] && d.By != dead {
			delete(open, d.ID)
			brought++
			last = max(last, d.at.Sub(killed))
		}
	}
	return brought, last
}

// seen is what the checker is told of the channel.
func (n *network) seen() (acked []string, came []Delivered) {
	n.mu.Lock()
	defer n.mu.Unlock()
	return slices.Collect(maps.Keys(n.acked)), slices.Clone(n.came)
}

// carried sums up what was brought in since a moment.
type carried struct {
	messages int
	took     time.Duration // to the last acknowledgement
	peak     int           // acknowledged in the best second
	longest  time.Duration // until one was acknowledged
	again    map[string]int
}

// since sums up from a moment, and begins to count failures anew.
func (n *network) since(began time.Time) carried {
	n.mu.Lock()
	defer n.mu.Unlock()
	c := carried{again: n.fails}
	n.fails = map[string]int{}
	for _, a := range n.acked {
		if a.at.After(began) {
			c.messages++
			c.took = max(c.took, a.at.Sub(began))
			c.longest = max(c.longest, a.took)
		}
	}
	for at, rate := range n.rates {
		if at > began.Unix() {
			c.peak = max(c.peak, rate)
		}
	}
	return c
}
