package tagger

// Slot is what a word is in a message.
type Slot uint8

// The slots. Other is a word that fills none.
const (
	Other Slot = iota
	Quantity
	Point
	Value
	Unit
	Component
	State
	Negation
	Correction
	Distractor
)

// Slots is how many slots there are, Other among them.
const Slots = 10

var slotNames = [Slots]string{
	"other", "quantity", "point", "value", "unit", "component", "state", "negation", "correction", "distractor",
}

// String is the slot's name in lower case.
func (s Slot) String() string {
	if int(s) < len(slotNames) {
		return slotNames[s]
	}
	return "unknown"
}

// Tag is a slot and whether a word begins or continues it.
type Tag uint8

// Outside is the tag of a word in no slot.
const Outside Tag = 0

// Tags is how many tags there are: Outside, and two for every slot but Other.
const Tags = 2*Slots - 1

// Begin is the tag of the first word of a slot, Inside that of the words after it.
func Begin(s Slot) Tag { return tagOf(s, 0) }

// Inside is the tag of a word that continues a slot.
func Inside(s Slot) Tag { return tagOf(s, 1) }

func tagOf(s Slot, continues Tag) Tag {
	if s == Other || s >= Slots {
		return Outside
	}
	return Tag(2*s-1) + continues
}

// Slot is the slot of a tag.
func (t Tag) Slot() Slot { return Slot((t + 1) / 2) }

// Begins tells whether the tag starts a slot.
func (t Tag) Begins() bool { return t%2 == 1 }

// String writes a tag as "B-point", "I-point" or "O".
func (t Tag) String() string {
	switch {
	case t == Outside || t >= Tags:
		return "O"
	case t.Begins():
		return "B-" + t.Slot().String()
	default:
		return "I-" + t.Slot().String()
	}
}

// follows tells whether tag b may stand after tag a: a slot is continued only
// where it was begun.
func follows(a, b Tag) bool {
	return b == Outside || b.Begins() || a.Slot() == b.Slot()
}

// Span is a run of words in one slot.
type Span struct {
	Slot        Slot
	First, Last int // words [First, Last)
}

// Spans gathers tags into runs, leaving out words in no slot. A continued tag
// without a beginning starts a run of its own.
func Spans(tags []Tag) []Span {
	var out []Span
	for i, t := range tags {
		if t == Outside {
			continue
		}
		if n := len(out); n > 0 && !t.Begins() && out[n-1].Last == i && out[n-1].Slot == t.Slot() {
			out[n-1].Last = i + 1
			continue
		}
		out = append(out, Span{t.Slot(), i, i + 1})
	}
	return out
}
