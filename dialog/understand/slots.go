package understand

import "proveout/dialog/tagger"

// Words splits a message as the reader does before it mends the spelling: what the
// tagger is given, in training and in answering.
func Words(text string) []tagger.Word { return words(tokenize(text), nil) }

func words(toks []token, out []tagger.Word) []tagger.Word {
	for _, t := range toks {
		w := tagger.Word{Text: t.text, Start: t.start, End: t.end, Glued: t.glued}
		switch t.kind {
		case numberToken:
			w.Kind = tagger.Figure
		case markToken:
			w.Kind = tagger.Mark
		case lineToken:
			w.Kind = tagger.Break
		default:
			w.Kind = tagger.Letters
		}
		out = append(out, w)
	}
	return out
}

// Slots tells which slot the grammar and the lexicon gave each word of a message
// (of its first block): what the tagger is compared with, and, on messages read as
// labelled, trained with. Inside words of a run are told from their beginnings.
func (r *Reader) Slots(text string, ctx Context) ([]tagger.Word, []tagger.Tag) {
	text = text[:cutAt(text, block)]
	m := r.first(text, ctx)
	ws := Words(text)
	tags := make([]tagger.Tag, len(ws))
	paint := func(first, last int, slot tagger.Slot) {
		if first >= last {
			return
		}
		from, to, started := m.toks[first].start, m.toks[last-1].end, false
		for i := range ws {
			if ws[i].End <= from || ws[i].Start >= to {
				continue
			}
			tags[i] = tagger.Inside(slot)
			if !started {
				tags[i], started = tagger.Begin(slot), true
			}
		}
		// What a shorter run left of a longer one begins anew.
		for i := range ws {
			if ws[i].Start >= to && !tags[i].Begins() && i > 0 && tags[i-1].Slot() != tags[i].Slot() {
				tags[i] = tagger.Begin(tags[i].Slot())
			}
		}
	}
	m.paintWords(paint)
	m.paintPlaces(paint)
	m.paintValues(paint)
	return ws, tags
}

func (m *message) paintWords(paint func(first, last int, slot tagger.Slot)) {
	for i := range m.chunks {
		c := &m.chunks[i]
		switch {
		case m.claimed[c.first]:
		case c.small(wordCorrect), c.small(wordCorrectStrong):
			if m.intents["correct"] {
				paint(c.first, c.last, tagger.Correction)
			}
		case c.comp() != nil:
		case c.hasState() && !m.usedAsRelation(i) && len(m.out.Observations) > 0:
			paint(c.first, c.last, tagger.State)
		case c.small(wordNot):
			paint(c.first, c.last, tagger.Negation)
		case c.quantity() != "":
			paint(c.first, c.last, tagger.Quantity)
		}
	}
}

// paintPlaces tells the places that hold a reading from the parts something is
// seen of. "At" is no part of a place's name, every other relation is.
func (m *message) paintPlaces(paint func(first, last int, slot tagger.Slot)) {
	holds := map[int]bool{}
	for i := range m.found {
		if f := &m.found[i]; !f.gone && f.place >= 0 {
			holds[f.place] = true
		}
	}
	for i := range m.places {
		p := &m.places[i]
		if m.claimed[p.first] {
			continue
		}
		slot := tagger.Point
		if !holds[i] && len(p.comp.Subjects) > 0 && len(m.out.Observations) > 0 {
			slot = tagger.Component
		}
		first, last := p.first, p.last
		if p.related && p.rel == relAt || !p.related {
			first = m.chunks[p.chunk].first
		}
		if p.quantity != "" {
			for first < last && m.chunkOf[first] >= 0 && m.quantityOnly(int(m.chunkOf[first])) {
				first = m.chunks[m.chunkOf[first]].last
			}
			for last > first && m.chunkOf[last-1] >= 0 && m.quantityOnly(int(m.chunkOf[last-1])) {
				last = m.chunks[m.chunkOf[last-1]].first
			}
		}
		paint(first, last, slot)
	}
}

func (m *message) quantityOnly(k int) bool {
	c := &m.chunks[k]
	return c.quantity() != "" && c.comp() == nil
}

func (m *message) paintValues(paint func(first, last int, slot tagger.Slot)) {
	for k := range m.values {
		v := &m.values[k]
		if v.weak && !m.placedAt(k) {
			continue
		}
		switch {
		case v.use == aside, v.use == spent && m.claimed[v.figureStart]:
			paint(v.figureStart, v.figureEnd, tagger.Distractor)
		case v.kind != figure && !m.placedAt(k) && v.use != spent:
		default:
			paint(v.figureStart, v.figureEnd, tagger.Value)
			if v.units != nil && v.last > v.figureEnd {
				first := v.figureEnd
				if m.toks[first].text == "-" {
					first++
				}
				paint(first, v.last, tagger.Unit)
			}
		}
	}
}
