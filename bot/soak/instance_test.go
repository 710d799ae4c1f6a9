package soak_test

import (
	"context"
	"errors"
	"fmt"
	"net/rpc"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/rs/zerolog"
	"github.com/stretchr/testify/require"

	"proveout/bot"
	"proveout/bot/postgres"
)

// An instance is this test binary started again; where it finds the others is in its
// environment. Its channel reaches it by a socket in the file system, which no cut of
// the network touches.
const (
	instanceAt     = "PROVEOUT_SOAK_AT"     // the socket it is asked at
	instanceNumber = "PROVEOUT_SOAK_NUMBER" // which of the instances it is
	instanceSender = "PROVEOUT_SOAK_SENDER" // the socket of the channel
	instanceRecord = "PROVEOUT_SOAK_RECORD" // the database
	instanceClock  = "PROVEOUT_SOAK_CLOCK"  // how far the clock of its machine is ahead
)

// tick is how often an instance looks for alarms.
const tick = 2 * time.Second

// desk is what an instance may be asked.
type desk struct {
	service atomic.Pointer[bot.Service] // nil while it reads the record
}

// Receive takes what the channel brings in.
func (d *desk) Receive(in bot.Inbound, _ *bool) error {
	s := d.service.Load()
	if s == nil {
		return errors.New(string(bot.CodeClosed))
	}
	ctx, hungUp := context.WithTimeout(context.Background(), patience)
	defer hungUp()
	switch err := s.Receive(ctx, in); {
	case ctx.Err() != nil && err != nil:
		return errLate // as for who hangs up on a web server
	case err != nil:
		return errors.New(string(bot.CodeOf(err))) // all a channel looks at
	}
	return nil
}

// Ready says whether it answers.
func (d *desk) Ready(_ bool, yes *bool) error {
	*yes = d.service.Load() != nil
	return nil
}

// carrier hands an instance's messages to the channel.
type carrier struct {
	*rpc.Client
	by int
}

func (c carrier) Send(ctx context.Context, m bot.Outbound) (string, error) {
	var id string
	d := told(&m)
	d.By = c.by
	select {
	case call := <-c.Go("Channel.Deliver", d, &id, make(chan *rpc.Call, 1)).Done:
		return id, call.Error
	case <-ctx.Done():
		return "", ctx.Err()
	}
}

// TestInstanceToBeHurt is an instance, when it is started as one.
func TestInstanceToBeHurt(t *testing.T) {
	at := os.Getenv(instanceAt)
	if at == "" {
		t.Skip("the soak starts this one")
	}
	d := &desk{}
	require.NoError(t, answer(t.Context(), at, "Desk", d))
	client, err := rpc.Dial("unix", os.Getenv(instanceSender))
	require.NoError(t, err)

	by, err := strconv.Atoi(os.Getenv(instanceNumber))
	require.NoError(t, err)
	base, err := trade()
	require.NoError(t, err)
	database, err := postgres.Open(t.Context(), os.Getenv(instanceRecord))
	require.NoError(t, err)
	ahead, err := time.ParseDuration(os.Getenv(instanceClock))
	require.NoError(t, err)
	database.Clock = func() time.Time { return time.Now().Add(ahead) }
	store, err := database.Join(t.Context(), shop)
	require.NoError(t, err)
	log := zerolog.New(os.Stderr).Level(zerolog.WarnLevel).With().Timestamp().Logger()
	service, err := bot.New(store, base, larkmoor(), bot.Options{Tick: tick, Log: log})
	require.NoError(t, err)
	require.NoError(t, service.Register(channel, carrier{client, by}))
	require.NoError(t, service.Restore(t.Context()))
	d.service.Store(service)
	require.NoError(t, service.Run(t.Context()))
}

// instance is one of several that answer for the shop, as the soak sees it: what runs it
// starts it again when it has ended.
type instance struct {
	n       int
	dir     string
	env     []string
	enter   func(func() error) error // starts it where its network is
	mu      sync.Mutex
	client  *rpc.Client // nil while it is not there
	process *os.Process
	paused  time.Duration // before it is started again
	ahead   time.Duration // of its machine's clock when it is started again
	ended   chan struct{}
}

// What the channel sees of an instance that is not there, or has not answered in time.
var (
	errDown = errors.New("nobody listens")
	errLate = errors.New("no answer in time")
)

func (i *instance) at() string { return filepath.Join(i.dir, fmt.Sprint("instance", i.n)) }

// run keeps the instance running until the context ends.
func (i *instance) run(ctx context.Context) error {
	defer close(i.ended)
	log, err := os.OpenFile(i.at()+".log", os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	for ctx.Err() == nil {
		if err := i.once(ctx, log); err != nil {
			return errors.Join(err, log.Close())
		}
		i.mu.Lock()
		pause := max(i.paused, 200*time.Millisecond)
		i.paused = 0
		i.mu.Unlock()
		wait(ctx, pause)
	}
	return log.Close()
}

// once runs the instance until it ends.
func (i *instance) once(ctx context.Context, log *os.File) error {
	if err := os.RemoveAll(i.at()); err != nil {
		return err
	}
	c := exec.CommandContext(ctx, os.Args[0], "-test.run", "^TestInstanceToBeHurt$")
	i.mu.Lock()
	ahead := i.ahead
	i.mu.Unlock()
	c.Env = append(append(os.Environ(), i.env...), instanceAt+"="+i.at(), instanceNumber+"="+strconv.Itoa(i.n), instanceClock+"="+ahead.String())
	c.Stdout, c.Stderr = log, log
	c.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	if err := i.enter(c.Start); err != nil {
		return err
	}
	ended := make(chan struct{})
	go func() {
		_ = c.Wait() // by a signal, or because it lost the record
		close(ended)
	}()
	client := i.dial(ctx, ended)
	i.set(client, c.Process)
	<-ended
	i.set(nil, nil)
	if client != nil {
		_ = client.Close() // the other side is gone
	}
	return nil
}

// dial reaches the instance as soon as it listens; nil when it ended before.
func (i *instance) dial(ctx context.Context, ended chan struct{}) *rpc.Client {
	for {
		if client, err := rpc.Dial("unix", i.at()); err == nil {
			return client
		}
		select {
		case <-ended:
			return nil
		case <-ctx.Done():
			return nil
		case <-time.After(20 * time.Millisecond):
		}
	}
}

func (i *instance) set(client *rpc.Client, process *os.Process) {
	i.mu.Lock()
	defer i.mu.Unlock()
	i.client, i.process = client, process
}

// ask asks the instance something, for so long.
func (i *instance) ask(what string, of, answer any, patience time.Duration) error {
	i.mu.Lock()
	client := i.client
	i.mu.Unlock()
	if client == nil {
		return errDown
	}
	select {
	case call := <-client.Go("Desk."+what, of, answer, make(chan *rpc.Call, 1)).Done:
		if _, answered := errors.AsType[rpc.ServerError](call.Error); call.Error != nil && !answered {
			return errDown // it went while it was asked
		}
		return call.Error
	case <-time.After(patience):
		return errLate
	}
}

// ready says whether it answers for the shop.
func (i *instance) ready() bool {
	var yes bool
	return i.ask("Ready", false, &yes, time.Second) == nil && yes
}

// kill ends the instance at once; it is started again after a while.
func (i *instance) kill(down time.Duration) error {
	i.mu.Lock()
	defer i.mu.Unlock()
	if i.process == nil {
		return nil // it has ended by itself
	}
	i.paused = down
	return i.process.Kill()
}

// sets has the instance start again on a machine whose clock is off.
func (i *instance) sets(ahead time.Duration) error {
	i.mu.Lock()
	i.ahead = ahead
	i.mu.Unlock()
	return i.kill(0)
}

// wait waits, or until the context ends.
func wait(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
}
