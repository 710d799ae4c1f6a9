package understand

import "proveout/knowledge"

type meaningKind uint8

const (
	isComponent meaningKind = iota
	isRelation
	isQuantity
	isState
	isAnswer // a state word that counts only as an answer
	isTool
	isSmall
	isUnit
	isSound
)

type relation uint8

const (
	relAt relation = iota
	relAcross
	relOut
	relIn
	relGround
)

type smallWord uint8

const (
	wordNone smallWord = iota
	wordNot
	wordNothing
	wordBareNo
	wordInfinite
	wordOpen
	wordContinuity
	wordSame
	wordYes
	wordNo
	wordReads
	wordAbout
	wordIsh
	wordPresent
	wordCorrect
	wordCorrectStrong
	wordFormer
	wordNow
	wordAnd
	wordBut
	wordFiller
	wordOver
	wordRange
	wordLift
	wordBounce
	wordHigh
	wordLow
	wordMid
	wordMinus
	wordShort
	wordBetween
	wordMoved
	wordOther

	// Words from here on only mark what stands beside them and are no phrase: a phrase
	// of one of them alone would part what they stand between.
	wordWhich
	wordToday
	wordItIs
	wordSince
	wordMine
	wordAdjunct
	wordMistold
	wordStreet
)

// smallWords are the names the lexicon gives the small closed groups.
var smallWords = map[string]smallWord{
	"not": wordNot, "nothing": wordNothing, "bare-no": wordBareNo, "infinite": wordInfinite, "open": wordOpen,
	"continuity": wordContinuity, "same": wordSame, "yes": wordYes, "no": wordNo, "reads": wordReads,
	"about": wordAbout, "ish": wordIsh, "present": wordPresent, "correct": wordCorrect,
	"correct-strong": wordCorrectStrong, "former": wordFormer, "now": wordNow, "and": wordAnd, "but": wordBut,
	"filler": wordFiller, "over": wordOver, "range": wordRange, "lift": wordLift, "bounce": wordBounce,
	"high": wordHigh, "low": wordLow, "mid": wordMid, "minus": wordMinus, "ambiguous-short": wordShort, "moved": wordMoved, "other-side": wordOther,
	"which": wordWhich, "today": wordToday, "it-is": wordItIs, "since": wordSince, "mine": wordMine, "adjunct": wordAdjunct, "mistold": wordMistold, "street": wordStreet,
}

// meaning is one thing a phrase can mean.
type meaning struct {
	kind     meaningKind
	comp     *component
	rel      relation
	quantity string
	state    *state
	tool     string
	word     smallWord
	index    int // of a unit list or a heard phrase
	in       languages
}

// component is a lexicon component ready for use.
type component struct {
	name string
	*knowledge.ComponentWords
	order int
}

// state is a lexicon state ready for use.
type state struct {
	name string
	*knowledge.StateWords
}

// chunk is the longest phrase at a token and everything it can mean.
type chunk struct {
	first, last int
	means       []meaning
}

func (c *chunk) comp() *component {
	for i := range c.means {
		if c.means[i].kind == isComponent {
			return c.means[i].comp
		}
	}
	return nil
}

func (c *chunk) tool() string {
	for i := range c.means {
		if c.means[i].kind == isTool {
			return c.means[i].tool
		}
	}
	return ""
}

func (c *chunk) rel() (relation, bool) {
	for i := range c.means {
		if c.means[i].kind == isRelation {
			return c.means[i].rel, true
		}
	}
	return relAt, false
}

func (c *chunk) quantity() string {
	for i := range c.means {
		if c.means[i].kind == isQuantity {
			return c.means[i].quantity
		}
	}
	return ""
}

func (c *chunk) small(w smallWord) bool {
	for i := range c.means {
		if c.means[i].kind == isSmall && c.means[i].word == w {
			return true
		}
	}
	return false
}

func (c *chunk) hasState() bool {
	for i := range c.means {
		if c.means[i].kind == isState {
			return true
		}
	}
	return false
}

// readChunks cuts the message into its longest known phrases. A phrase may take
// in a figure ("5 amp fuse"), which is then none.
func (m *message) readChunks() {
	m.chunkOf = make([]int32, len(m.toks))
	for i := range m.chunkOf {
		m.chunkOf[i] = -1
	}
	for i := 0; i < len(m.toks); {
		if k := m.at[i]; k >= 0 && m.values[k].use == aside {
			i = max(m.values[k].last, i+1)
			continue
		}
		ms, end := m.r.phrases.longest(m.toks, i, m.in)
		if k := m.at[i]; k >= 0 && (end == i || end <= m.values[k].figureEnd) {
			i = max(m.values[k].last, i+1)
			continue
		}
		if end = m.beforeFigure(i, end); end <= i {
			i++
			continue
		}
		for j := i; j < end; j++ {
			m.chunkOf[j] = int32(len(m.chunks))
			if k := m.at[j]; k >= 0 && m.values[k].first >= i && m.values[k].figureEnd <= end {
				m.values[k].use = aside
			}
		}
		m.chunks = append(m.chunks, chunk{first: i, last: end, means: ms})
		i = end
	}
}

// beforeFigure keeps a phrase from swallowing a figure it only half covers.
func (m *message) beforeFigure(i, end int) int {
	for j := i + 1; j < end; j++ {
		if k := m.at[j]; k >= 0 && m.values[k].first > i && m.values[k].figureEnd > end {
			return i
		}
	}
	return end
}

func (m *message) chunkAt(i int) *chunk {
	if i < 0 || i >= len(m.toks) || m.chunkOf[i] < 0 {
		return nil
	}
	c := &m.chunks[m.chunkOf[i]]
	if c.first != i {
		return nil
	}
	return c
}

// numberAt is the value whose figure starts at token i, or -1.
func (m *message) numberAt(i int) int {
	if i >= len(m.toks) {
		return -1
	}
	k := m.at[i]
	if k < 0 || m.values[k].kind != figure || i != m.values[k].first && i != m.values[k].figureStart {
		return -1
	}
	return int(k)
}
