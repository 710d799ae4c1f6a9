package understand

// lendQuantities gives a place the quantity word beside it: "comp amps",
// "voltage at the coil".
func (m *message) lendQuantities() {
	pi := 0
	for k := range m.chunks {
		q := m.chunks[k].quantity()
		if q == "" {
			continue
		}
		for pi < len(m.places) && m.places[pi].last <= m.chunks[k].first {
			pi++
		}
		after := pi
		if after < len(m.places) && m.places[after].first <= m.chunks[k].first {
			continue
		}
		if after < len(m.places) && m.gapWords(m.chunks[k].last, m.places[after].first) <= 2 && m.places[after].quantity == "" && m.quantityFits(after, q) &&
			(after == 0 || m.places[after].leading || m.gapWords(m.places[after-1].last, m.chunks[k].first) > 1 || !m.quantityFits(after-1, q)) {
			m.places[after].quantity = q
			m.places[after].first = m.chunks[k].first
			continue
		}
		if after > 0 && m.gapWords(m.places[after-1].last, m.chunks[k].first) <= 2 && m.quantityFits(after-1, q) {
			m.places[after-1].quantity = q
			m.places[after-1].last = m.chunks[k].last
			continue
		}
		m.hintValue(m.chunks[k].last, q)
	}
}

// hintValue gives the quantity to the figure right after the word: "pulling 16.2
// on common".
func (m *message) hintValue(i int, q string) {
	for ; i < len(m.toks) && (m.filler(i) || m.linkWord(i)); i++ {
		if m.at[i] >= 0 {
			break
		}
	}
	if i < len(m.toks) && m.at[i] >= 0 && m.values[m.at[i]].units == nil {
		m.values[m.at[i]].hint = q
	}
}

func (m *message) quantityFits(p int, q string) bool {
	for _, id := range m.places[p].ids {
		if id.Quantity() == q {
			return true
		}
	}
	for _, id := range m.places[p].both {
		if id.Quantity() == q {
			return true
		}
	}
	for _, id := range m.places[p].comp.Also {
		if id.Quantity() == q {
			return true
		}
	}
	return false
}

// gapWords counts the tokens between, or 99 across a value or a sentence's end.
func (m *message) gapWords(from, to int) int {
	n := 0
	for i := from; i < to; i++ {
		if m.at[i] >= 0 || m.endsSentence(i) || n > 10 {
			return 99
		}
		n++
	}
	return n
}

// unitNamed is the unit a list of terminals is said to be at, in front of it or
// behind: "24 at R, 24 at Y and 24 at G on the board".
func (m *message) unitNamed(i int, place string) string {
	for _, step := range []int{1, -1} {
		for j := i + step; j >= 0 && j < len(m.places) && j-i < 7 && i-j < 7; j += step {
			p := &m.places[j]
			lo, hi := min(i, j), max(i, j)
			if !m.sameSentence(m.places[lo].last, m.places[hi].first) {
				break
			}
			if p.comp.Terminal != "" {
				continue
			}
			if p.leading && p.rel == relAt && p.comp.Place != "" && !p.comp.side(relIn) && !p.comp.side(relOut) && !p.comp.side(relAcross) {
				return p.comp.Place
			}
			break
		}
	}
	return place
}

// settleIndoors moves terminals to the indoor unit where the message or the talk
// is there.
func (m *message) settleIndoors() {
	for i := range m.places {
		p := &m.places[i]
		if p.fixed || len(p.comp.Indoors) == 0 || p.rel != relAt || p.pair && !m.controlPair(p) {
			continue
		}
		indoor := m.unitNamed(i, m.ctx.Place) == "indoor"
		for _, j := range []int{i - 1, i + 1} {
			if j < 0 || j >= len(m.places) || m.places[j].comp.Place == "" || m.places[j].comp.Terminal != "" {
				continue
			}
			lo, hi := min(i, j), max(i, j)
			gap := m.places[hi].first - m.places[lo].last
			if gap <= 4 && m.gapWords(m.places[lo].last, m.places[hi].first) < 99 && m.sameSentence(m.places[lo].last, m.places[hi].first) && (m.places[j].leading || gap <= 1) {
				indoor = m.places[j].comp.Place == "indoor"
				m.places[j].lends = m.places[j].leading && len(m.places[j].comp.Subjects) > 0
			}
		}
		if indoor {
			p.ids, p.indoor, p.torn = p.comp.Indoors, true, false
		}
	}
}
