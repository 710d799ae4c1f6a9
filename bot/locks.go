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

// talks keeps the talks used last, each as it stood after an event.
type talks struct {
	mu    sync.Mutex
	most  int
	by    map[string]*list.Element
	order *list.List // used last in front
}

type kept struct {
	job  string
	seq  int64
	talk *dialog.Job
	// since is how many events lie after the newest snapshot.
	since int
}

func newTalks(most int) *talks {
	return &talks{most: most, by: map[string]*list.Element{}, order: list.New()}
}

// get gives a job's talk if it is here as it stood after an event.
func (t *talks) get(job string, seq int64) (kept, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	el := t.by[job]
	if el == nil {
		return kept{}, false
	}
	k, _ := el.Value.(kept)
	t.order.MoveToFront(el)
	return k, k.seq == seq
}

func (t *talks) put(k kept) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if el := t.by[k.job]; el != nil {
		el.Value = k
		t.order.MoveToFront(el)
		return
	}
	t.by[k.job] = t.order.PushFront(k)
	for t.order.Len() > t.most {
		t.remove(t.order.Back())
	}
}

func (t *talks) drop(job string) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if el := t.by[job]; el != nil {
		t.remove(el)
	}
}

func (t *talks) remove(el *list.Element) {
	if k, ok := t.order.Remove(el).(kept); ok {
		delete(t.by, k.job)
	}
}

// everything lists what is kept.
func (t *talks) everything() []kept {
	t.mu.Lock()
	defer t.mu.Unlock()
	var out []kept
	for el := t.order.Front(); el != nil; el = el.Next() {
		if k, ok := el.Value.(kept); ok {
			out = append(out, k)
		}
	}
	return out
}
