package main

import (
	"errors"
	"fmt"
	"runtime"
	"time"

	"github.com/prometheus/procfs"
)

// machine is what was measured on, and how busy it was before: figures say little
// without.
type machine struct {
	began  time.Time
	before float64 // the load, processes that wanted to run in the minute before
}

func newMachine() (machine, error) {
	before, err := load()
	return machine{time.Now(), before}, err
}

// described says it in a line, with the load now.
func (m machine) described() (string, error) {
	fs, err := procfs.NewDefaultFS()
	if err != nil {
		return "", err
	}
	cpus, err := fs.CPUInfo()
	if err != nil {
		return "", err
	}
	memory, err := fs.Meminfo()
	if err != nil {
		return "", err
	}
	if len(cpus) == 0 || memory.MemTotalBytes == nil {
		return "", errors.New("the kernel tells neither processors nor memory")
	}
	after, err := load()
	return fmt.Sprintf("%s, %d cores (%s), %d GiB, %s on %s; load %.1f before and %.1f after; measured in %v.",
		m.began.Format(time.DateOnly), runtime.NumCPU(), cpus[0].ModelName, *memory.MemTotalBytes>>30, runtime.Version(), runtime.GOOS,
		m.before, after, time.Since(m.began).Round(time.Second)), err
}

func load() (float64, error) {
	fs, err := procfs.NewDefaultFS()
	if err != nil {
		return 0, err
	}
	avg, err := fs.LoadAvg()
	if err != nil {
		return 0, err
	}
	return avg.Load1, nil
}
