package web

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"
)

// A page is followed by server-sent events, as the HTML standard has them. What its
// viewers see alike is rendered once for all of them: a feed is such a view, and runs
// while anybody follows it.

const (
	// heartbeat keeps a quiet stream from being taken for a dead one by what lies
	// between.
	heartbeat = 25 * time.Second
	// Gathering puts what happens at once into one rendering: on a job the parts of an
	// answer, on the board what a busy shop does in half a second.
	jobGathers   = 50 * time.Millisecond
	boardGathers = 500 * time.Millisecond
	// minute is how often a page is rendered anew for the time that passes on it.
	minute = time.Minute
)

// fragment is a piece of a page that changes by itself: the element of an id, and
// which element a new one is put at the end of.
type fragment struct {
	ID   string `json:"id"`
	In   string `json:"in,omitempty"`
	HTML string `json:"html"`
}

// view renders the fragments of a page as its viewers see it now.
type view func(ctx context.Context) ([]fragment, error)

// piece is a fragment with the version it last changed at.
type piece struct {
	fragment
	at int64
}

// feed is one view and its viewers. Versions count up from when it began, so that one
// who comes back says what he has seen.
type feed struct {
	mu      sync.Mutex
	began   string
	version int64
	pieces  []piece
	written map[int64][]byte // the event for who has seen a version, made for the first of them
	changed chan struct{}    // closed and replaced at a change
	viewers int
	stop    context.CancelFunc
}

// update is what an event carries. Whole: it is all there is, and what else stands on
// the page is gone.
type update struct {
	Whole  bool       `json:"whole,omitempty"`
	Pieces []fragment `json:"pieces"`
}

// after gives the event for who has seen a version, nil when nothing has changed since,
// the version now, and what is closed at the next change.
func (f *feed) after(seen int64) (event []byte, now int64, next <-chan struct{}) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if seen >= f.version {
		return nil, f.version, f.changed
	}
	event, made := f.written[seen]
	if !made {
		u := update{Whole: seen == 0}
		for _, p := range f.pieces {
			if p.at > seen && !(u.Whole && p.HTML == "") {
				u.Pieces = append(u.Pieces, p.fragment)
			}
		}
		data, err := json.Marshal(u)
		if err != nil {
			panic(err) // strings and a bool
		}
		event = fmt.Appendf(nil, "event: page\nid: %s.%d\ndata: %s\n\n", f.began, f.version, data)
		f.written[seen] = event
	}
	return event, f.version, f.changed
}

// take makes what was rendered the newest version, if anything in it is new. What is
// no longer there is kept as an empty piece, which takes it off the page.
func (f *feed) take(rendered []fragment) {
	f.mu.Lock()
	defer f.mu.Unlock()
	was := make(map[string]piece, len(f.pieces))
	for _, p := range f.pieces {
		was[p.ID] = p
	}
	next := f.version + 1
	moved := false
	pieces := make([]piece, 0, len(rendered))
	for _, r := range rendered {
		p := piece{r, next}
		if old, ok := was[r.ID]; ok && old.fragment == r {
			p = old
		} else {
			moved = true
		}
		delete(was, r.ID)
		pieces = append(pieces, p)
	}
	for _, p := range f.pieces {
		gone, left := was[p.ID]
		if !left {
			continue
		}
		if gone.HTML != "" {
			gone.HTML, gone.at, moved = "", next, true
		}
		pieces = append(pieces, gone)
	}
	if !moved {
		return
	}
	f.version, f.pieces, f.written = next, pieces, map[int64][]byte{}
	close(f.changed)
	f.changed = make(chan struct{})
}

// feeds are the views being followed, by what tells them apart.
type feeds struct {
	mu   sync.Mutex
	by   map[string]*feed
	shut bool
	wg   sync.WaitGroup
	now  func() time.Time
	// failed takes what a rendering could not do.
	failed func(key string, err error)
}

// errShut is a page that is to be followed when the service stops.
var errShut = errors.New("following a page: the service is stopping")

// follow joins the feed of a key, begun by the first who does; leave ends it with the
// last. changes gives what tells when to render again, after gathering for a while.
func (f *feeds) follow(key string, gathers time.Duration, v view, changes func(context.Context) (<-chan struct{}, error)) (joined *feed, leave func(), err error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.shut {
		return nil, nil, errShut
	}
	at := f.by[key]
	if at == nil {
		ctx, stop := context.WithCancel(context.Background())
		changed, err := changes(ctx)
		if err != nil {
			stop()
			return nil, nil, err
		}
		at = &feed{began: strconv.FormatInt(f.now().UnixNano(), 36), changed: make(chan struct{}), stop: stop}
		f.by[key] = at
		f.wg.Go(func() { f.run(ctx, key, at, gathers, v, changed) })
	}
	at.viewers++
	return at, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		if at.viewers--; at.viewers == 0 {
			at.stop()
			delete(f.by, key)
		}
	}, nil
}

// run renders at every change, and every minute, until the feed ends.
func (f *feeds) run(ctx context.Context, key string, at *feed, gathers time.Duration, v view, changes <-chan struct{}) {
	clock := time.NewTicker(minute)
	defer clock.Stop()
	for {
		rendered, err := v(ctx)
		if err != nil && ctx.Err() == nil {
			f.failed(key, err)
		} else if err == nil {
			at.take(rendered)
		}
		select {
		case <-ctx.Done():
			return
		case <-clock.C:
		case <-changes:
			select {
			case <-ctx.Done():
				return
			case <-time.After(gathers):
			}
		}
	}
}

// end stops every feed and the streams that follow them.
func (f *feeds) end() {
	f.mu.Lock()
	f.shut = true
	for _, at := range f.by {
		at.stop()
	}
	f.mu.Unlock()
	f.wg.Wait()
}

// follow streams a view of a job, or of the board where none is named. The key tells
// apart what viewers do not see alike.
func (v *visit) follow(key, job string, rendered view) error {
	gathers := jobGathers
	if job == "" {
		gathers = boardGathers
	}
	at, leave, err := v.a.feeds.follow(key, gathers, rendered, func(ctx context.Context) (<-chan struct{}, error) {
		return v.a.service.Changes(ctx, v.who.ID, job)
	})
	if err != nil {
		return err
	}
	defer leave()
	return v.stream(at)
}

// fragments renders the parts of a page that change.
func (a *Adapter) fragments(language, page string, data any, parts ...string) ([]fragment, error) {
	out := make([]fragment, 0, len(parts))
	for _, part := range parts {
		html, err := a.render(language, page, part, data)
		if err != nil {
			return nil, err
		}
		out = append(out, fragment{ID: part, HTML: string(html)})
	}
	return out, nil
}

// stream writes a feed's changes until the viewer leaves, is signed out, or the service
// stops.
func (v *visit) stream(at *feed) error {
	a, w, r := v.a, v.w, v.r
	control := http.NewResponseController(w)
	// The server's limits are for requests that end.
	if err := control.SetReadDeadline(time.Time{}); err != nil {
		return fmt.Errorf("keeping a stream open: %w", err)
	}
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // asks a proxy to pass on what it gets
	if _, err := fmt.Fprint(w, "retry: 2000\n\n"); err != nil {
		return nil // he has left
	}
	seen := seenBefore(r, at.began)
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		event, now, next := at.after(seen)
		if _, err := w.Write(event); err != nil {
			return nil
		}
		seen = now
		if control.Flush() != nil {
			return nil
		}
		select {
		case <-next:
		case <-beat.C:
			if !v.still() {
				return nil
			}
			if _, err := fmt.Fprint(w, ": still here\n\n"); err != nil {
				return nil
			}
		case <-r.Context().Done():
			return nil
		case <-a.ended:
			return nil
		}
	}
}

// seenBefore is the version one who comes back has seen; 0 for a newcomer and for one
// who followed a feed that has ended.
func seenBefore(r *http.Request, began string) int64 {
	feed, version, ok := strings.Cut(r.Header.Get("Last-Event-ID"), ".")
	if !ok || feed != began {
		return 0
	}
	n, err := strconv.ParseInt(version, 10, 64)
	if err != nil || n < 0 {
		return 0
	}
	return n
}
