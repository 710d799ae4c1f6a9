package understand

// chatter tells that a figure stands in talk about something else: its sentence
// names nothing of the trade, reads nothing and holds at least two words of another
// matter. "The cat is 15 and fat" is not asked about; a few words nobody knows are.
func (m *message) chatter(v *value) bool {
	if v.units != nil || v.hint != "" {
		return false
	}
	first, last := v.first, v.last
	for first > 0 && v.first-first < farthest && !m.endsSentence(first-1) {
		first--
	}
	for last < len(m.toks) && last-v.last < farthest && !m.endsSentence(last) {
		last++
	}
	other, words := 0, 0
	for i := first; i < last; i++ {
		if m.toks[i].kind == wordToken {
			words++
		}
		switch m.toks[i].text {
		case "meter", "shows", "showing", "reads", "reading", "measures", "measured", "getting":
			return false
		}
		if k := m.chunkOf[i]; k >= 0 {
			if m.chunks[k].ofTheTrade() {
				return false
			}
			continue
		}
		if t := m.toks[i]; t.kind == wordToken && m.at[i] < 0 && len(t.text) >= 3 && !m.pronounLike(t.text) {
			other++
		}
	}
	return other >= 2 && words >= 5
}

// ofTheTrade tells a phrase that names a part, a quantity, an instrument or a
// state.
func (c *chunk) ofTheTrade() bool {
	for i := range c.means {
		switch c.means[i].kind {
		case isComponent, isQuantity, isState, isTool:
			return true
		default: // a word of another kind
		}
	}
	return false
}
