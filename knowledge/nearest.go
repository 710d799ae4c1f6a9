package knowledge

import (
	"fmt"
	"slices"
	"strings"
)

// suggest gives the mend for a name that is not known: the one it may be a slip of,
// or otherwise.
func suggest(name string, known []string, otherwise string) string {
	return didYouMean(nearest(name, known), otherwise)
}

func didYouMean(near, otherwise string) string {
	if near != "" {
		return fmt.Sprintf("did you mean %q?", near)
	}
	return otherwise
}

// nearest finds the known name that a name is most likely a slip of: a few letters
// off, or the part of it behind the slash. Empty when none is close; the first of
// several that are equally close.
func nearest(name string, known []string) string {
	best, bound := "", 1+slipsAllowed(len(name))
	for _, k := range known {
		if d := slips(name, k, bound); d < bound {
			best, bound = k, d
		}
	}
	if best != "" || name == "" {
		return best
	}
	for _, k := range known {
		if strings.HasSuffix(k, "/"+name) {
			return k
		}
	}
	return ""
}

// slipsAllowed is how many letters of a name may be off for it to be a slip.
func slipsAllowed(length int) int {
	switch {
	case length < 3:
		return 0
	case length < 5:
		return 1
	case length < 10:
		return 2
	}
	return 3
}

// slips counts the letters added, left out, changed or swapped between two names;
// bound or more is given as bound.
func slips(a, b string, bound int) int {
	if len(a)-len(b) >= bound || len(b)-len(a) >= bound {
		return bound
	}
	before, last, now := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		now[0] = i
		for j := 1; j <= len(b); j++ {
			d := min(last[j]+1, now[j-1]+1)
			if a[i-1] == b[j-1] {
				d = min(d, last[j-1])
			} else {
				d = min(d, last[j-1]+1)
			}
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				d = min(d, before[j-2]+1)
			}
			now[j] = d
		}
		if slices.Min(now) >= bound {
			return bound
		}
		before, last, now = last, now, before
	}
	return min(last[len(b)], bound)
}
