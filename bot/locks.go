package bot

import (
	"container/list"
	"sync"

	"proveout/dialog"
)

// locks are mutexes by name, each there only while it is held or waited for.
type locks struct {
	mu   sync.Mutex
	held map[string]*lock
}

type lock struct {
	sync.Mutex
	users int
}

// lock takes a name's lock and gives what lets it go.
func (l *locks) lock(name string) func() {
	l.mu.Lock()
	if l.held == nil {
		l.held = map[string]*lock{}
	}
	k := l.held[name]
	if k == nil {
		k = &lock{}
		l.held[name] = k
	}
	k.users++
	l.mu.Unlock()
	k.Lock()
	return func() {
		k.Unlock()
		l.mu.Lock()
		defer l.mu.Unlock()
		if k.users--; k.users == 0 {
			delete(l.held, name)
		}
	}
}

// recent keeps the values used last, by name.
type recent[V any] struct {
	mu    sync.Mutex
	most  int
	by    map[string]*list.Element
	order *list.List // used last in front
}

type named[V any] struct {
	name  string
	value V
}

func newRecent[V any](most int) *recent[V] {
	return &recent[V]{most: most, by: map[string]*list.Element{}, order: list.New()}
}

func (r *recent[V]) get(name string) (value V, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	el := r.by[name]
	if el == nil {
		return value, false
	}
	r.order.MoveToFront(el)
	n, ok := el.Value.(named[V])
	return n.value, ok
}

func (r *recent[V]) put(name string, value V) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if el := r.by[name]; el != nil {
		el.Value = named[V]{name, value}
		r.order.MoveToFront(el)
		return
	}
	r.by[name] = r.order.PushFront(named[V]{name, value})
	for r.order.Len() > r.most {
		r.remove(r.order.Back())
	}
}

func (r *recent[V]) remove(el *list.Element) {
	if n, ok := r.order.Remove(el).(named[V]); ok {
		delete(r.by, n.name)
	}
}

// kept is a job's talk as it stood after an event.
type kept struct {
	seq  int64
	talk *dialog.Job
}
