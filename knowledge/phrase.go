package knowledge

import (
	"cmp"
	"math"
	"strconv"
	"strings"
)

// Phrases are what is said in one language, by id; {name} in one stands for what is
// filled in.
type Phrases map[string]string

// Say fills a phrase: pairs are the names in braces and what stands for them.
func (p Phrases) Say(id string, pairs ...string) string {
	slots := make([]string, len(pairs))
	for i := range pairs {
		if slots[i] = pairs[i]; i%2 == 0 {
			slots[i] = "{" + pairs[i] + "}"
		}
	}
	return strings.TrimSpace(strings.NewReplacer(slots...).Replace(p[id]))
}

// Count says the phrase of so many things, with {n} for how many; the phrase of one
// stands under the id with -one behind it.
func (p Phrases) Count(id string, n int, pairs ...string) string {
	if n == 1 {
		id += "-one"
	}
	return p.Say(id, append(pairs, "n", strconv.Itoa(n))...)
}

// Or says a phrase of a kind there may be none of, else what stands for it otherwise.
func (p Phrases) Or(id, otherwise string) string { return cmp.Or(p.Say(id), otherwise) }

// Percent is a probability as a person reads it: it never claims certainty.
func (p Phrases) Percent(x float64) string {
	switch {
	case x > 0.99:
		return p.Say("percent-most")
	case x < 0.01:
		return p.Say("percent-least")
	}
	return strconv.FormatFloat(math.Round(100*x), 'f', 0, 64) + " %"
}

// FaultName is a fault's plain name.
func (b *Base) FaultName(id string) string {
	if f := b.Faults[id]; f != nil && f.Name != "" {
		return f.Name
	}
	return strings.NewReplacer("/", " ", "-", " ").Replace(id)
}
