package understand

import (
	"slices"
	"strings"
)

// puzzle notes the clauses that name one part and say of it what nobody knows, by a
// word that is unknown or one that is said of other parts: "the contactor is
// flibbered", "registers closed". Only a message that is no question and no wish is
// held to it, and only a clause in which nothing else was understood: a man who told
// what was needed is not asked about his every word.
func (m *message) puzzle() {
	if len(m.intents) > 0 || len(m.out.Hazards) > 0 {
		return
	}
	for first := 0; first < len(m.toks); {
		last := first
		for last < len(m.toks) && !m.endsClause(last) {
			last++
		}
		if m.puzzling(first, last) {
			m.out.Puzzles = append(m.out.Puzzles, m.words(first, last))
		}
		first = last + 1
	}
}

// endsClause tells what ends one thing said: a sentence's end, a comma, "but".
func (m *message) endsClause(i int) bool {
	switch m.toks[i].text {
	case ",", "but", "and", "then", "-":
		return true
	}
	return m.endsSentence(i)
}

// longestPuzzle is how many words a clause may hold to be taken for a report at all.
const longestPuzzle = 7

// puzzling tells a clause that says something nobody knows of a part.
func (m *message) puzzling(first, last int) bool {
	if last-first < 2 || last-first > longestPuzzle || m.asksItself(first) {
		return false
	}
	subject, said := "", false
	for i := first; i < last; i++ {
		if m.at[i] >= 0 || m.claimed[i] {
			return false
		}
		if m.toks[i].kind == wordToken && m.toks[i].id == unknown && len(m.toks[i].text) >= shortest {
			said = subject != ""
		}
		c := m.chunkAt(i)
		switch {
		case c == nil:
		case c.comp() != nil && len(c.comp().Subjects) > 0:
			if subject != "" || !strings.HasPrefix(c.comp().Subjects[0], c.comp().name) {
				return false // two parts, or a word for a whole place
			}
			subject = c.comp().Subjects[0]
		case c.hasState() && !c.small(wordFiller) && !m.isRelation(int(m.chunkOf[i])):
			said = subject != ""
		}
	}
	seen := slices.ContainsFunc(m.out.Observations, func(o Observation) bool { return o.Subject == subject })
	machine := slices.ContainsFunc(m.matches, func(x match) bool { return x.first < last && first < x.last })
	return subject != "" && said && !seen && !machine
}
