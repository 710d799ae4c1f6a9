package understand

import (
	"math"
	"slices"
	"strconv"

	"proveout/knowledge"
)

// readPatterns finds what the message asks, the facts it states, and which of
// its figures are no readings.
func (m *message) readPatterns() {
	var claims []match // facts and asides compete for figures
	var hearsay []match
	for i := range m.toks {
		m.tryAll(m.r.patterns.byWord[m.toks[i].id], i, &claims, &hearsay)
		if m.numberAt(i) >= 0 {
			m.tryAll(m.r.patterns.byClass[anyNumber], i, &claims, &hearsay)
		}
		if c := m.chunkAt(i); c != nil {
			if c.comp() != nil {
				m.tryAll(m.r.patterns.byClass[anyPart], i, &claims, &hearsay)
			}
			if c.tool() != "" {
				m.tryAll(m.r.patterns.byClass[anyTool], i, &claims, &hearsay)
			}
		}
	}
	m.wish()
	m.tellSeen()
	m.claimed = make([]bool, len(m.toks)+1)
	for i := range m.matches {
		if m.matches[i].what != machinePattern {
			m.cover(m.matches[i])
		}
	}
	m.claim(claims)
	m.hear(hearsay)
}

func (m *message) tryAll(ps []*pattern, i int, claims, hearsay *[]match) {
	for _, p := range ps {
		if p.in&m.in == 0 {
			continue
		}
		x, ok := m.try(p, i)
		if !ok {
			continue
		}
		switch p.what {
		case intentPattern:
			if m.partOfName(x) || x.last-x.first == 1 && m.negatedBefore(x.first) {
				continue // "no cierra" closes no job
			}
			m.wishes = append(m.wishes, x)
		case hazardPattern:
			if !m.negatedBefore(i) && !slices.Contains(m.out.Hazards, p.id) {
				m.out.Hazards = append(m.out.Hazards, p.id)
				m.matches = append(m.matches, x)
			}
		case machinePattern:
			m.matches = append(m.matches, x)
		case seenPattern:
			m.seen = append(m.seen, x)
		case hearsayPattern:
			*hearsay = append(*hearsay, x)
		default:
			*claims = append(*claims, x)
		}
	}
}

// partOfName tells a single word that is only part of a part's name: "hi" in "hi
// pressure switch" greets nobody, and neither does "sup 70".
func (m *message) partOfName(x match) bool {
	k := m.chunkOf[x.first]
	if x.last-x.first > 1 || k < 0 || m.chunks[k].comp() == nil {
		return false
	}
	beside := m.numberAt(x.last) >= 0 || x.first > 0 && m.at[x.first-1] >= 0
	return m.chunks[k].last-m.chunks[k].first > 1 || beside
}

// negatedBefore tells whether a word up to two tokens back says no.
func (m *message) negatedBefore(i int) bool {
	if m.isWord(i-1, "reads") {
		i-- // "no marca continuidad", in English words
	}
	for back := 1; back <= 3; back++ {
		for _, x := range m.smallAt(i-back, i) {
			if x.word == wordNot || x.word == wordBareNo {
				return true
			}
		}
	}
	return false
}

// wish keeps the longest of intents that share words: "thanks for the help" asks
// for none.
func (m *message) wish() {
	slices.SortStableFunc(m.wishes, func(a, b match) int {
		if d := (b.last - b.first) - (a.last - a.first); d != 0 {
			return d
		}
		return a.first - b.first
	})
	owner := make([]string, len(m.toks))
	for _, x := range m.wishes {
		free := true
		for _, o := range owner[x.first:x.last] {
			free = free && (o == "" || o == x.id)
		}
		if !free {
			continue
		}
		for j := x.first; j < x.last; j++ {
			owner[j] = x.id
		}
		m.intentFound(x)
	}
}

func (m *message) intentFound(x match) {
	if x.bare && !m.intents[x.id] {
		m.bare = append(m.bare, x.id)
	} else if !x.bare {
		m.bare = slices.DeleteFunc(m.bare, func(id string) bool { return id == x.id })
	}
	m.intent(x.id)
	if x.id == "report-done" && !x.bare || x.named != nil {
		m.matches = append(m.matches, x)
	}
	if x.id != "cannot-measure" {
		return
	}
	if x.tool != "" {
		m.matches = append(m.matches, x) // "the meter's dead" is no 0 V
	}
	if x.tool != "" && !slices.Contains(m.out.Lacks, x.tool) {
		m.out.Lacks = append(m.out.Lacks, x.tool)
	}
}

// claim settles which fact or aside a figure belongs to: the longest match, a
// fact before an aside, the earlier first.
func (m *message) claim(claims []match) {
	claims = m.figureBehind(claims)
	slices.SortStableFunc(claims, func(a, b match) int {
		if d := (b.last - b.first) - (a.last - a.first); d != 0 {
			return d
		}
		if a.what != b.what {
			return int(a.what) - int(b.what)
		}
		return a.first - b.first
	})
	taken := make([]bool, len(m.toks))
	var facts []match
	for _, x := range claims {
		if slices.Contains(taken[x.first:x.last], true) {
			// "2 lbs of 410a" still names the refrigerant.
			if x.what == factPattern && x.value != "" && m.onlyAside(taken, facts, x) {
				m.addFact(x.id, x.value)
			}
			continue
		}
		if x.what == factPattern && !m.factHolds(x) {
			continue
		}
		for j := x.first; j < x.last; j++ {
			taken[j] = true
		}
		if x.found > 0 || x.what == asidePattern || x.last-x.first > 1 {
			m.cover(x)
		}
		if x.what == factPattern {
			facts = append(facts, x)
			m.stated = append(m.stated, x.first)
			continue
		}
		m.spend(x.first, x.last, aside)
	}
	slices.SortStableFunc(facts, func(a, b match) int { return a.first - b.first })
	for _, x := range facts {
		m.fact(x)
	}
}

// onlyAside tells that the words of a fact were taken by asides alone.
func (m *message) onlyAside(taken []bool, facts []match, x match) bool {
	for _, f := range facts {
		if f.first < x.last && x.first < f.last {
			return false
		}
	}
	return taken[x.first]
}

// cover keeps words that state a fact, an aside or a hazard from being read as
// something seen.
func (m *message) cover(x match) {
	for j := x.first; j < x.last; j++ {
		m.claimed[j] = true
	}
}

// spend marks every figure in a stretch of tokens.
func (m *message) spend(first, last int, u use) {
	for j := first; j < last; {
		k := m.at[j]
		if k < 0 {
			j++
			continue
		}
		if m.values[k].use == open {
			m.values[k].use = u
		}
		j = max(m.values[k].last, j+1)
	}
}

// factHolds refuses a number pattern whose figure cannot be that fact.
func (m *message) factHolds(x match) bool {
	if x.of != nil && !m.namedLast(x.first, x.of) {
		return false
	}
	if x.value != "" {
		return !m.denies(x.first) && !m.readThere(x)
	}
	f := m.r.base.Facts[x.id]
	if x.sized {
		return m.isSized(x)
	}
	if x.part != "" && m.readElsewhere(x) {
		return false
	}
	if f == nil || f.Possible[1] == 0 || x.found == 0 {
		return x.found > 0
	}
	v := &m.values[x.numbers[x.states()]]
	if v.units != nil && !m.r.inUnit(v.units, f.Unit) {
		return false
	}
	return v.v >= f.Possible[0] && v.v <= f.Possible[1]
}

// namedLast tells that one of some components is the last named before a token.
func (m *message) namedLast(i int, names []string) bool {
	for k := m.chunkBefore(i); k >= 0; k-- {
		if c := m.chunks[k].comp(); c != nil {
			return slices.Contains(names, c.name)
		}
	}
	return false
}

// readThere tells that the figure of a name, "is 410", is what the place named right
// before it usually reads: "the high side is 410" names no refrigerant.
func (m *message) readThere(x match) bool {
	k := m.chunkBefore(x.first)
	for k >= 0 && m.chunks[k].comp() == nil && m.chunks[k].small(wordFiller) && m.sameClause(m.chunks[k].first, x.first) {
		k--
	}
	if k < 0 || m.chunks[k].comp() == nil || !m.sameClause(m.chunks[k].last, x.first) || x.first-m.chunks[k].last > 2 {
		return false
	}
	for i := x.first; i < x.last; i++ {
		v := m.numberAt(i)
		if v < 0 || m.values[v].use == aside {
			continue
		}
		return slices.ContainsFunc(m.chunks[k].comp().At, func(id knowledge.ReadingID) bool { return m.usual(&m.values[v], id) })
	}
	return false
}

// denies tells "not a txv".
func (m *message) denies(i int) bool {
	if t := m.tok(i - 1).text; t == "a" || t == "an" {
		i--
	}
	for _, x := range m.smallAt(i-1, i) {
		if x.word == wordNot {
			return true
		}
	}
	return false
}

func (m *message) fact(x match) {
	if x.value != "" {
		m.addFact(x.id, x.value)
		m.spend(x.first, x.last, spent)
		return
	}
	if x.found == 0 {
		return
	}
	first := x.states()
	for k := first; k < x.found; k++ {
		m.values[x.numbers[k]].use = spent
	}
	a := m.values[x.numbers[first]].v
	if x.with == "" {
		m.addFact(x.id, plain(a))
		return
	}
	if x.found > 1 {
		b := m.values[x.numbers[1]].v
		m.addFact(x.id, plain(math.Max(a, b)))
		m.addFact(x.with, plain(math.Min(a, b)))
	}
}

// states is the place of the first figure that states the fact: of two figures of
// one fact the other is what was read, "7.4 on a 7.5", "14.3 amps, rated 15.8".
func (x match) states() int {
	if x.with != "" {
		return 0
	}
	return x.found - 1
}

func plain(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// hear sets aside what somebody else read, or another day: from the words that
// say so to the end of the sentence, or to where the person comes back to now.
func (m *message) hear(hearsay []match) {
	done := 0
	for _, x := range hearsay {
		first, last := x.first, x.last
		for last < len(m.toks) && !m.endsSentence(last) && !m.backToNow(last) {
			last++
		}
		own := m.ownClause(x, last)
		for first > done && first > own && !m.endsSentence(first-1) && !m.backToNow(first-1) {
			first--
		}
		m.spend(first, last, aside)
		m.told = append(m.told, [2]int{first, last})
		m.notDoneNow(first, last)
		done = max(done, last)
	}
}

// ownClause is where words of hearsay that begin a clause and have a figure of their
// own begin, or 0: "24 at y, last week it was 22" leaves the 24 as it is.
func (m *message) ownClause(x match, last int) int {
	first := x.first
	for first > 0 && (m.filler(first-1) || m.toks[first-1].kind == wordToken && m.chunkOf[first-1] < 0 && m.at[first-1] < 0 && m.toks[first-1].text != "and") {
		first--
	}
	switch m.tok(first - 1).text {
	case ",", "and", "but", "-":
	default:
		return 0
	}
	for i := x.first; i < last; i++ {
		if m.at[i] >= 0 && m.values[m.at[i]].use == open {
			return first
		}
	}
	return 0
}

// notDoneNow drops a repair reported of another day.
func (m *message) notDoneNow(first, last int) {
	elsewhere := false
	for i := range m.matches {
		x := &m.matches[i]
		elsewhere = elsewhere || x.id == "report-done" && x.what == intentPattern && (x.first < first || x.last > last)
	}
	if !elsewhere {
		delete(m.intents, "report-done")
	}
}

// backToNow tells a word that ends hearsay: "now", "but", "today", "I'm getting".
func (m *message) backToNow(i int) bool {
	if t := m.toks[i].text; t == "," || t == "and" {
		return m.marks(i+1, wordMine)
	}
	return m.marks(i, wordSince)
}

func (m *message) askedQuantity(q string) bool { return m.ctx.Asked.Quantity() == q }
