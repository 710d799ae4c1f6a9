package knowledge

import (
	"regexp"
	"slices"
	"strings"
)

var slotForm = regexp.MustCompile(`\{[a-z-]+\}`)

// phrases checks what is said: a phrase under a name nobody asks for is never said,
// and a slot nobody fills would be printed as it stands.
func (c *checker) phrases() {
	for _, id := range keysOf(c.b.Phrases) {
		s := spot{c: c, item: "phrases/" + id}
		if c.lost[s.item] {
			continue
		}
		text := c.b.Phrases[id]
		s.text(text, "words", "write what is said")
		if c.b.where[s.item].layer == 0 {
			continue
		}
		first, ok := c.b.spoken[id]
		if !ok {
			s.fail(suggest(id, keysOf(c.b.spoken), "give it the name of the phrase it replaces"), "nothing is said by the name %q", id)
			continue
		}
		s.slots(text, first)
	}
}

// slots wants what stands in braces in a text to be filled in the one it replaces.
func (s spot) slots(text, first string) {
	slots := slotForm.FindAllString(first, -1)
	for _, slot := range slotForm.FindAllString(text, -1) {
		if !slices.Contains(slots, slot) {
			s.fail(suggest(slot, slots, "this phrase knows "+orNone(slots)), "nothing fills %s", slot)
		}
	}
}

func orNone(slots []string) string {
	if len(slots) == 0 {
		return "no names in braces"
	}
	return strings.Join(slots, ", ")
}

// lexicon checks the words for things once the things themselves could be read.
func (c *checker) lexicon() {
	if len(c.lost) == 0 {
		c.errs = append(c.errs, c.b.CheckLexicon()...)
	}
}
