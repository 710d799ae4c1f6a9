package soak_test

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"github.com/prometheus/procfs"
)

// cpuController is where the kernel lets processes be given a part of a core, below the
// group they are in.
const cpuController = "/sys/fs/cgroup/cpu"

// share is the part of one core's time that a process may take.
type share struct{ dir string }

// newShare makes one of so many percent of a core; the error says why it cannot be had
// here.
func newShare(name string, percent int) (share, error) {
	// The kernel gives the time out anew every period: a long one would have a process
	// run at full speed and then stand still for as long as a message takes.
	const period = 10_000 // microseconds
	self, err := procfs.Self()
	if err != nil {
		return share{}, err
	}
	groups, err := self.Cgroups()
	if err != nil {
		return share{}, fmt.Errorf("no control group can be made: %w", err)
	}
	at := slices.IndexFunc(groups, func(g procfs.Cgroup) bool { return slices.Contains(g.Controllers, "cpu") })
	if at < 0 {
		return share{}, errors.New("no part of a core can be given: the kernel has no controller of the first kind for it")
	}
	s := share{filepath.Join(cpuController, groups[at].Path, name)}
	if err := os.Mkdir(s.dir, 0o755); err != nil {
		return s, fmt.Errorf("no control group can be made: %w", err)
	}
	err = errors.Join(s.set("cpu.cfs_period_us", period), s.set("cpu.cfs_quota_us", period*percent/100))
	if err != nil {
		return s, errors.Join(fmt.Errorf("no part of a core can be given: %w", err), s.remove())
	}
	return s, nil
}

func (s share) set(what string, value int) error {
	return os.WriteFile(filepath.Join(s.dir, what), []byte(strconv.Itoa(value)), 0o600)
}

// hold keeps a process within the share from now on.
func (s share) hold(pid int) error { return s.set("cgroup.procs", pid) }

// remove takes the share away; the process must have ended.
func (s share) remove() error { return os.Remove(s.dir) }

// seconds are those of a core that some processes have taken so far.
func seconds(processes ...procfs.Proc) (float64, error) {
	sum := 0.0
	for _, p := range processes {
		stat, err := p.Stat()
		if err != nil {
			return 0, err
		}
		sum += stat.CPUTime()
	}
	return sum, nil
}

// family is a process with its children.
func family(parent int) (procfs.Procs, error) {
	all, err := procfs.AllProcs()
	if err != nil {
		return nil, err
	}
	var out procfs.Procs
	for _, p := range all {
		stat, err := p.Stat()
		if err == nil && (p.PID == parent || stat.PPID == parent) { // others end meanwhile
			out = append(out, p)
		}
	}
	return out, nil
}
