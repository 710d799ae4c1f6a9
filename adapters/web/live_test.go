package web

import (
	"context"
	"encoding/json"
	"errors"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// stage is a view whose fragments a test sets.
type stage struct {
	shown   atomic.Pointer[[]fragment]
	changes chan struct{}
	renders atomic.Int64
}

func newStage(shown ...fragment) *stage {
	s := &stage{changes: make(chan struct{}, 1)}
	s.shown.Store(&shown)
	return s
}

func (s *stage) view(context.Context) ([]fragment, error) {
	s.renders.Add(1)
	if shown := s.shown.Load(); shown != nil {
		return *shown, nil
	}
	return nil, errors.New("the record cannot be read")
}

func (s *stage) show(shown ...fragment) {
	s.shown.Store(&shown)
	s.changes <- struct{}{}
}

func (s *stage) watch(context.Context) (<-chan struct{}, error) { return s.changes, nil }

func newFeeds(t *testing.T) *feeds {
	t.Helper()
	f := &feeds{by: map[string]*feed{}, now: time.Now, failed: func(string, error) {}}
	t.Cleanup(f.end)
	return f
}

// next is the event after a version, once there is one.
func next(t *testing.T, at *feed, seen int64) (update, int64) {
	t.Helper()
	for {
		event, now, changed := at.after(seen)
		if event == nil {
			select {
			case <-changed:
				continue
			case <-t.Context().Done():
				require.NoError(t, t.Context().Err())
			}
		}
		_, data, ok := strings.Cut(string(event), "data: ")
		require.True(t, ok)
		var u update
		require.NoError(t, json.Unmarshal([]byte(strings.TrimSpace(data)), &u))
		return u, now
	}
}

func TestViewersOfOnePageShareOneRendering(t *testing.T) {
	t.Parallel()
	f, s := newFeeds(t), newStage(fragment{ID: "a", HTML: "<p>1</p>"})
	for range 500 {
		at, leave, err := f.follow("job", 0, s.view, s.watch)
		require.NoError(t, err)
		t.Cleanup(leave)
		u, now := next(t, at, 0)
		require.True(t, u.Whole)
		require.Len(t, u.Pieces, 1)
		require.EqualValues(t, 1, now)
	}
	require.EqualValues(t, 1, s.renders.Load())
}

func TestOnlyWhatChangedIsSent(t *testing.T) {
	t.Parallel()
	one, two := fragment{ID: "one", HTML: "<p>1</p>"}, fragment{ID: "two", HTML: "<p>2</p>"}
	f, s := newFeeds(t), newStage(one, two)
	at, leave, err := f.follow("job", 0, s.view, s.watch)
	require.NoError(t, err)
	defer leave()
	_, seen := next(t, at, 0)

	three := fragment{ID: "three", In: "list", HTML: "<p>3</p>"}
	s.show(one, three)
	u, seen := next(t, at, seen)
	require.False(t, u.Whole)
	require.Equal(t, []fragment{three, {ID: "two"}}, u.Pieces, "what is gone is sent empty")

	whole, _ := next(t, at, 0)
	require.True(t, whole.Whole)
	require.Equal(t, []fragment{one, three}, whole.Pieces, "a newcomer is not told of what is gone")

	s.show(one, three, two)
	u, _ = next(t, at, seen)
	require.Equal(t, []fragment{two}, u.Pieces, "and it may come back")
}

func TestOneWhoComesBackIsSentWhatHeMissed(t *testing.T) {
	t.Parallel()
	r := httptest.NewRequestWithContext(t.Context(), "GET", "/", nil)
	require.Zero(t, seenBefore(r, "abc"))
	r.Header.Set("Last-Event-ID", "abc.7")
	require.EqualValues(t, 7, seenBefore(r, "abc"))
	require.Zero(t, seenBefore(r, "abd"), "another feed counts anew")
	r.Header.Set("Last-Event-ID", "abc.-7")
	require.Zero(t, seenBefore(r, "abc"))
}

func TestAFeedOutlivesARenderingThatFails(t *testing.T) {
	t.Parallel()
	f, s := newFeeds(t), newStage()
	s.shown.Store(nil)
	failed := make(chan error, 1)
	f.failed = func(_ string, err error) { failed <- err }
	at, leave, err := f.follow("job", 0, s.view, s.watch)
	require.NoError(t, err)
	defer leave()
	require.Error(t, <-failed)
	s.show(fragment{ID: "a", HTML: "<p>1</p>"})
	u, _ := next(t, at, 0)
	require.Len(t, u.Pieces, 1)
}

func TestAFeedEndsWithItsLastViewer(t *testing.T) {
	t.Parallel()
	f, s := newFeeds(t), newStage(fragment{ID: "a", HTML: "<p>1</p>"})
	first, leave, err := f.follow("job", 0, s.view, s.watch)
	require.NoError(t, err)
	second, leaveToo, err := f.follow("job", 0, s.view, s.watch)
	require.NoError(t, err)
	require.Same(t, first, second)
	leave()
	require.Len(t, f.by, 1)
	leaveToo()
	require.Empty(t, f.by)
	f.wg.Wait()
}
