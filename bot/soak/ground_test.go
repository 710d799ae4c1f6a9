package soak_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"golang.org/x/sys/unix"
)

// here starts something where the soak itself is.
func here(start func() error) error { return start() }

// command runs a program of the system.
func command(ctx context.Context, line string) error {
	args := strings.Fields(line)
	if out, err := exec.CommandContext(ctx, args[0], args[1:]...).CombinedOutput(); err != nil {
		return fmt.Errorf("%s: %w %s", line, err, strings.TrimSpace(string(out)))
	}
	return nil
}

// commands runs programs one after another until one fails.
func commands(ctx context.Context, lines ...string) error {
	for _, line := range lines {
		if err := command(ctx, line); err != nil {
			return err
		}
	}
	return nil
}

// wires are a network of namespaces: the database's, with a switch, and one for each
// instance, plugged into it. Nothing of it is seen outside.
type wires struct{ made []string }

// The database's namespace and its address there.
const (
	spaceOfDatabase = "soak-db"
	database        = "10.77.0.1"
)

func space(instance int) string { return fmt.Sprint("soak-", instance) }

// newWires lays them; the error says why they cannot be had here.
func newWires(ctx context.Context, instances int) (*wires, error) {
	w := &wires{}
	add := func(name string) error {
		_ = command(ctx, "ip netns del "+name) // left by a soak that was broken off
		err := command(ctx, "ip netns add "+name)
		if err == nil {
			w.made = append(w.made, name)
		}
		return err
	}
	err := add(spaceOfDatabase)
	if err == nil {
		err = commands(ctx, "ip -n soak-db link add switch type bridge", "ip -n soak-db addr add "+database+"/24 dev switch", "ip -n soak-db link set switch up")
	}
	for i := 0; i < instances && err == nil; i++ {
		if err = add(space(i)); err == nil {
			name := fmt.Sprint("port", i)
			err = commands(ctx,
				"ip link add "+name+" netns soak-db type veth peer name eth0 netns "+space(i),
				"ip -n soak-db link set "+name+" master switch up",
				fmt.Sprintf("ip -n %s addr add 10.77.0.%d/24 dev eth0", space(i), 10+i),
				"ip -n "+space(i)+" link set eth0 up")
		}
	}
	if err != nil {
		return nil, errors.Join(err, w.remove(ctx))
	}
	return w, nil
}

func (w *wires) remove(ctx context.Context) error {
	var errs []error
	for _, name := range w.made {
		errs = append(errs, command(ctx, "ip netns del "+name))
	}
	return errors.Join(errs...)
}

// silence has an instance's packets vanish, or come through again: neither side is told.
func silence(ctx context.Context, instance int, on bool) error {
	if on {
		return command(ctx, fmt.Sprintf("ip -n soak-db link set port%d nomaster", instance))
	}
	return command(ctx, fmt.Sprintf("ip -n soak-db link set port%d master switch", instance))
}

// unplug takes an instance's network away, or gives it back: it is told so.
func unplug(ctx context.Context, instance int, on bool) error {
	state := "up"
	if on {
		state = "down"
	}
	return command(ctx, "ip -n "+space(instance)+" link set eth0 "+state)
}

// in gives what starts something in a namespace: a process is in that of the thread that
// started it.
func in(space string) func(func() error) error {
	return func(start func() error) (err error) {
		runtime.LockOSThread()
		back, err := os.Open("/proc/thread-self/ns/net")
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, back.Close()) }()
		there, err := os.Open(filepath.Join("/run/netns", space))
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, there.Close()) }()
		if err := unix.Setns(int(there.Fd()), unix.CLONE_NEWNET); err != nil {
			return err
		}
		started := start()
		if err := unix.Setns(int(back.Fd()), unix.CLONE_NEWNET); err != nil {
			return errors.Join(started, err) // the thread stays locked: nothing else may run there
		}
		runtime.UnlockOSThread()
		return started
	}
}

// disk is a file system of its own, in a file.
type disk struct{ home, dir string }

func newDisk(ctx context.Context, size int64) (*disk, error) {
	home := filepath.Join(os.TempDir(), "proveout-soak")
	d := &disk{home: home, dir: filepath.Join(home, "disk")}
	_ = d.remove(ctx) // left by a soak that was broken off
	image := filepath.Join(home, "image")
	err := os.MkdirAll(d.dir, 0o755)
	if err == nil {
		err = errors.Join(os.WriteFile(image, nil, 0o600), os.Truncate(image, size))
	}
	if err == nil {
		err = commands(ctx, "mkfs.ext4 -q -m 0 "+image, "mount -o loop "+image+" "+d.dir)
	}
	if err != nil {
		return nil, errors.Join(err, os.RemoveAll(home))
	}
	return d, nil
}

func (d *disk) remove(ctx context.Context) error {
	if err := command(ctx, "umount "+d.dir); err != nil {
		return err
	}
	return os.RemoveAll(d.home)
}

// fill leaves nothing free.
func (d *disk) fill() error {
	f, err := os.Create(d.filler())
	if err != nil {
		return err
	}
	var end int64
	for step := int64(1 << 30); step >= 4096; {
		switch err = unix.Fallocate(int(f.Fd()), 0, end, step); {
		case err == nil:
			end += step
		case errors.Is(err, unix.ENOSPC):
			step /= 2
		default:
			return errors.Join(err, f.Close())
		}
	}
	return f.Close()
}

func (d *disk) free() error { return os.Remove(d.filler()) }

func (d *disk) filler() string { return filepath.Join(d.dir, "filler") }

// within is a context that ends after a while.
func within(ctx context.Context, d time.Duration, do func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(ctx, d)
	defer cancel()
	return do(ctx)
}
