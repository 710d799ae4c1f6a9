package bot

import (
	"context"
	"slices"
	"sync"

	"proveout/dialog"
)

// foresightRows is how many of the jobs stuck longest the minutes to the call are worked
// out for, and foreseenKept how many of those figures are kept.
const (
	foresightRows = 50
	foreseenKept  = 500
)

// foresight works the minutes to the call out beside everything else, one job after
// another: it takes some hundredths of a second, which nobody who writes or looks is to
// wait for.
type foresight struct {
	known *recent[foreseen]
	wake  chan struct{}

	mu     sync.Mutex
	wanted []string // jobs somebody looks at
}

// foreseen is a figure as it was after an event.
type foreseen struct {
	seq     int64
	minutes float64
}

func newForesight() *foresight {
	return &foresight{known: newRecent[foreseen](foreseenKept), wake: make(chan struct{}, 1)}
}

// minutes are those expected until a job's call; negative for one that is not being
// measured, and until they are worked out, which then begins.
func (f *foresight) minutes(j *Job) float64 {
	if j.Status != dialog.Measuring {
		return -1
	}
	if k, ok := f.known.get(j.ID); ok && k.seq == j.Seq {
		return k.minutes
	}
	f.mu.Lock()
	if !slices.Contains(f.wanted, j.ID) {
		f.wanted = append(f.wanted, j.ID)
	}
	f.mu.Unlock()
	signal(f.wake)
	return -1
}

// next is a job whose minutes are wanted, and whether it is the last.
func (f *foresight) next() (job string, last bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.wanted) == 0 {
		return "", true
	}
	job = f.wanted[0]
	f.wanted = f.wanted[1:]
	return job, len(f.wanted) == 0
}

// foresee works out what is wanted until the context ends.
func (s *Service) foresee(ctx context.Context) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-s.foresight.wake:
		}
		for ctx.Err() == nil {
			job, last := s.foresight.next()
			if job == "" {
				break
			}
			if err := s.foreseeOne(ctx, job); err != nil && ctx.Err() == nil {
				s.Log.Error().Err(err).Str("job", job).Msg("working out the minutes to the call")
			}
			if last {
				s.changes.tell("") // once for the board
			}
		}
	}
}

func (s *Service) foreseeOne(ctx context.Context, id string) error {
	unlock := s.locks.lock(id)
	j, k, err := s.load(ctx, id)
	unlock()
	if err != nil || j == nil {
		return err
	}
	s.foresight.known.put(id, foreseen{j.Seq, s.agent.MinutesToCall(k.talk)})
	s.changes.tell(id)
	return nil
}
