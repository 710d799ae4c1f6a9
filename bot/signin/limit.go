package signin

import (
	"maps"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// namesKnown bounds whom a limit remembers.
const namesKnown = 10_000

// limit lets each name have so many at once and then one every while.
type limit struct {
	burst int
	every time.Duration

	mu sync.Mutex
	by map[string]*rate.Limiter
}

// allow says whether a name may once more.
func (l *limit) allow(name string, now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.by == nil {
		l.by = map[string]*rate.Limiter{}
	}
	if len(l.by) >= namesKnown { // those who may have all again need not be remembered
		maps.DeleteFunc(l.by, func(_ string, one *rate.Limiter) bool { return one.TokensAt(now) >= float64(l.burst) })
	}
	one := l.by[name]
	if one == nil {
		if len(l.by) >= namesKnown {
			return false // a flood is not answered
		}
		one = rate.NewLimiter(rate.Every(l.every), l.burst)
		l.by[name] = one
	}
	return one.AllowN(now, 1)
}
