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
	// A strings.Replacer would be made for each phrase, and takes longer to make than all
	// else that is done to say it.
	var b strings.Builder
	for rest := p[id]; rest != ""; {
		before, after, open := strings.Cut(rest, "{")
		b.WriteString(before)
		if !open {
			break
		}
		if name, behind, closed := strings.Cut(after, "}"); closed {
			if at := slot(pairs, name); at >= 0 {
				b.WriteString(pairs[at])
				rest = behind
				continue
			}
		}
		b.WriteByte('{') // it is not for us to fill
		rest = after
	}
	return strings.TrimSpace(b.String())
}

// slot is where what stands for a name is among the pairs; negative when it is not.
func slot(pairs []string, name string) int {
	for i := 0; i+1 < len(pairs); i += 2 {
		if pairs[i] == name {
			return i + 1
		}
	}
	return -1
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
