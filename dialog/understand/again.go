package understand

// recalled is the reading of the record a figure with "again" or "still" beside it
// repeats: of what was asked, else of its quantity, else the latest that was it.
func (m *message) recalled(v *value) *Reading {
	if v.kind != figure || !m.besideSame(v) {
		return nil
	}
	var best *Reading
	rank := 0
	for i := len(m.ctx.Earlier) - 1; i >= 0; i-- {
		e := &m.ctx.Earlier[i]
		if x, _, _, _ := m.convert(v, e.Reading.Quantity()); float64(e.Value) != x || !m.admits(v, nil, e.Reading) {
			continue
		}
		r := 1
		switch {
		case e.Reading == m.ctx.Asked:
			r = 3
		case m.ctx.Asked != "" && e.Reading.Quantity() == m.ctx.Asked.Quantity():
			r = 2
		}
		if r > rank {
			best, rank = e, r
		}
	}
	return best
}

// besideSame tells "still" or "again" right beside a figure.
func (m *message) besideSame(v *value) bool {
	for _, i := range []int{v.first - 1, v.last} {
		if i >= 0 && i < len(m.toks) && m.chunkOf[i] >= 0 && m.chunks[m.chunkOf[i]].small(wordSame) {
			return true
		}
	}
	return false
}

// recall gives a repeated figure without a unit the quantity it had: "still 0.4"
// after ohms stays ohms wherever it is said to be.
func (m *message) recall() {
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.units != nil || v.hint != "" || v.quantity != "" {
			continue
		}
		if e := m.recalled(v); e != nil {
			v.quantity, v.recalled = e.Reading.Quantity(), true
		}
	}
}

// saidAgain tells a figure with "again" that repeats nothing of what is asked:
// "18 again" is what was 18 before, not the volts asked for since.
func (m *message) saidAgain(v *value) bool {
	if v.kind != figure || v.units != nil || !m.isWord(v.last, "again") && !m.isWord(v.first-1, "again") {
		return false
	}
	if e := m.recalled(v); e != nil {
		return e.Reading.Quantity() != m.ctx.Asked.Quantity()
	}
	for i := range m.ctx.Earlier {
		if m.ctx.Earlier[i].Reading == m.ctx.Asked {
			return false
		}
	}
	return true
}
