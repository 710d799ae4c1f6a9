package understand

import (
	"slices"

	"proveout/knowledge"
)

// recount reads a message about a figure given before: "the 26 I gave you was at the
// thermostat". The reading of the record that had the figure is taken back, and a
// place that leaves several readings open is settled by it.
func (m *message) recount() {
	for k := range m.values {
		v := &m.values[k]
		if v.kind != figure || !m.ofBefore(v) {
			continue
		}
		m.intent("correct")
		e := m.recorded(v)
		if e == "" {
			continue
		}
		if i := slices.IndexFunc(m.doubts, func(d doubted) bool { return d.value == k }); i >= 0 {
			if id := m.r.elsewhere(e, m.doubts[i].options); id != "" {
				v.use = open
				m.found = append(m.found, finding{value: k, place: m.doubts[i].place, id: id, rule: byRecord})
				m.doubts = slices.Delete(m.doubts, i, i+1)
			}
		}
		if slices.ContainsFunc(m.found, func(f finding) bool { return f.value == k && f.id != e && f.id.Quantity() == e.Quantity() }) {
			m.takenBack(e)
		}
	}
}

// ofBefore tells a figure that is spoken of as one given before: "the 26 I gave you
// was", or, where the record has it, "that 26 was".
func (m *message) ofBefore(v *value) bool {
	switch m.tok(v.first - 1).text {
	case "that", "the", "those", "my":
	default:
		return false
	}
	gave := false
	for i := v.last; i < len(m.toks) && i < v.last+6 && !m.endsSentence(i); i++ {
		switch m.toks[i].text {
		case "gave", "sent", "told", "texted", "reported", "said":
			gave = gave || m.tok(i-1).text == "i" || m.tok(i-2).text == "i"
		case "was", "were":
			return gave || m.recorded(v) != ""
		}
	}
	return false
}

// recorded is the latest reading of the record with a value, or "".
func (m *message) recorded(v *value) knowledge.ReadingID {
	for _, e := range slices.Backward(m.ctx.Earlier) {
		if x, _, _, _ := m.convert(v, e.Reading.Quantity()); float64(e.Value) == x && m.admits(v, nil, e.Reading) {
			return e.Reading
		}
	}
	return ""
}

// elsewhere is the one of some readings that is the other unit's end of the wire a
// reading was taken on: Y at the board for Y at the outdoor unit.
func (r *Reader) elsewhere(id knowledge.ReadingID, options []knowledge.ReadingID) knowledge.ReadingID {
	if twin := r.twins[id]; twin != "" && slices.Contains(options, twin) {
		return twin
	}
	return ""
}

// otherEnd is the reading at the other unit's end of the wire the message read just
// before: "26 at the stat y and 0 at the condenser".
func (m *message) otherEnd(v *value, options []knowledge.ReadingID) knowledge.ReadingID {
	for _, f := range slices.Backward(m.found) {
		if before := &m.values[f.value]; before.first < v.first && m.sameSentence(before.last, v.first) {
			return m.r.elsewhere(f.id, options)
		}
	}
	return ""
}

// takenBack notes a reading of the record that is no longer held.
func (m *message) takenBack(id knowledge.ReadingID) {
	if !slices.Contains(m.out.TakenBack, id) {
		m.out.TakenBack = append(m.out.TakenBack, id)
	}
}

// deniedPlace tells a place only said not to be meant: "at the thermostat, not the
// condenser".
func (m *message) deniedPlace(k int) bool {
	p := &m.places[k]
	i := p.first - 1
	for i > 0 && m.filler(i) {
		i--
	}
	if k == 0 || i < 0 || m.at[i] >= 0 || m.chunkOf[i] < 0 || !m.chunks[m.chunkOf[i]].small(wordNot) {
		return false
	}
	return m.sameSentence(m.places[k-1].last, p.first)
}
