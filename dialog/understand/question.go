package understand

// asksItself tells that a token stands in a clause that asks: "is the fan running
// ok", "fan off, is that normal?". What is asked is not seen.
func (m *message) asksItself(i int) bool {
	first := i
	for first > 0 && !m.endsSentence(first-1) && m.toks[first-1].text != "," && m.toks[first-1].text != "but" {
		first--
	}
	last := i
	for last < len(m.toks) && !m.endsSentence(last) && m.toks[last].text != "," {
		last++
	}
	if m.tok(last).text == "?" {
		return true
	}
	for m.opensLoosely(m.tok(first).text) {
		first++
	}
	return m.opensQuestion(first)
}

// opensLoosely tells a word people put in front of a question.
func (m *message) opensLoosely(w string) bool {
	switch w {
	case "and", "so", "ok", "okay", "hey", "also", "well", "then":
		return true
	}
	return false
}

// opensQuestion tells a verb put before its subject: "is the fan", "should it".
func (m *message) opensQuestion(i int) bool {
	switch m.tok(i).text {
	case "is", "are", "does", "do", "should", "can", "could", "would", "will", "did":
	default:
		return false
	}
	switch m.tok(i + 1).text {
	case "the", "a", "an", "it", "this", "that", "my", "there", "i", "we", "you", "they", "these", "those":
		return m.tok(i+1).kind == wordToken
	}
	c := m.chunkAt(i + 1)
	return c != nil && c.comp() != nil && !c.hasState()
}

// wanted tells a place whose figure is asked for: "what's my superheat".
func (m *message) wanted(p *place) bool {
	i := p.first - 1
	for ; i >= 0 && m.at[i] < 0; i-- {
		if m.marks(i, wordWhich) {
			return !m.figureFollows(p.last)
		}
		if c := m.chunkAt(i); !m.article(i) && !m.filler(i) && (c == nil || !c.small(wordReads)) {
			return false
		}
	}
	return false
}

// figureFollows tells that a figure stands at a token, or behind one small word.
func (m *message) figureFollows(i int) bool {
	return i < len(m.toks) && m.at[i] >= 0 || i+1 < len(m.toks) && m.at[i+1] >= 0
}
