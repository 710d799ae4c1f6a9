package bot

import (
	"context"
	"sync"
)

// changes tells those who look at a job, or at the board, that it is other than it was.
// It holds no views: who is told asks for a new one, and many asking get the same.
type changes struct {
	mu       sync.Mutex
	watchers map[string]map[chan struct{}]struct{} // by job; the board's under ""
}

// follow gives a channel that is told of a job's changes until the context ends.
func (c *changes) follow(ctx context.Context, job string) <-chan struct{} {
	told := make(chan struct{}, 1) // several changes at once are one
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.watchers == nil {
		c.watchers = map[string]map[chan struct{}]struct{}{}
	}
	if c.watchers[job] == nil {
		c.watchers[job] = map[chan struct{}]struct{}{}
	}
	c.watchers[job][told] = struct{}{}
	context.AfterFunc(ctx, func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		if delete(c.watchers[job], told); len(c.watchers[job]) == 0 {
			delete(c.watchers, job)
		}
	})
	return told
}

// tell tells the watchers of a job, or of the board. It never waits: a watcher who has not looked since the last change has yet to.
func (c *changes) tell(job string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	for told := range c.watchers[job] {
		signal(told)
	}
}

// signal tells a watcher, who looks when he is ready.
func signal(told chan struct{}) {
	select {
	case told <- struct{}{}:
	default:
	}
}

// Changes gives a channel that says, until the context ends, that a job is other than
// it was, or with no job named that some open job is; several changes are told as one,
// and what is told may turn out to be nothing. It is never closed. CodeNotFound,
// CodeForbidden as for the view that is to be made anew.
func (s *Service) Changes(ctx context.Context, viewer, job string) (<-chan struct{}, error) {
	p, err := s.viewer(viewer)
	if err != nil {
		return nil, err
	}
	if job != "" {
		if _, err := s.seen(ctx, p, job); err != nil {
			return nil, err
		}
	}
	return s.changes.follow(ctx, job), nil
}
