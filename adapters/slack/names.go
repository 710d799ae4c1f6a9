package slack

import (
	"context"
	"sync"
	"time"
)

// nameWithin bounds the asking for a name: the acknowledgement waits for it.
const nameWithin = 500 * time.Millisecond

// namesKept bounds what is remembered of them.
const namesKept = 1000

// names remembers what people are called, and which of them is the app.
type names struct {
	mu    sync.Mutex
	self  string
	known map[string]string
}

func (n *names) us(id string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	n.self = id
}

func (n *names) isUs(id string) bool {
	n.mu.Lock()
	defer n.mu.Unlock()
	return id == n.self
}

func (n *names) of(id string) (string, bool) {
	n.mu.Lock()
	defer n.mu.Unlock()
	name, ok := n.known[id]
	return name, ok
}

func (n *names) keep(id, name string) {
	n.mu.Lock()
	defer n.mu.Unlock()
	if n.known == nil || len(n.known) >= namesKept {
		n.known = map[string]string{}
	}
	n.known[id] = name
}

// mentioned is how a mention reads. A name that cannot be had in time is "someone".
func (a *Adapter) mentioned(ctx context.Context, id, label string) string {
	if a.names.isUs(id) {
		return ""
	}
	if label != "" {
		return "@" + label
	}
	name, ok := a.names.of(id)
	if !ok {
		ctx, cancel := context.WithTimeout(ctx, nameWithin)
		defer cancel()
		user, err := a.api.GetUserInfoContext(ctx, id)
		if err != nil {
			a.o.Log.Debug().Err(a.scrub(err)).Msg("a mentioned person's name could not be had")
			return "@someone"
		}
		name = first(user.Profile.DisplayName, user.RealName, user.Name, "someone")
		a.names.keep(id, name)
	}
	return "@" + name
}
