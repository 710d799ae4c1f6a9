package understand

import "slices"

// readTarget reads "target 10" as the figure the charge is weighed by: subcooling
// with a valve, superheat with a fixed orifice.
func (m *message) readTarget() {
	fact := m.targetFact()
	f := m.r.base.Facts[fact]
	if f == nil || slices.ContainsFunc(m.out.Facts, func(x Fact) bool { return x.Fact == fact }) {
		return
	}
	for k := range m.values {
		v := &m.values[k]
		if v.use != open && (v.use != aside || !m.called(v.first)) || v.kind != figure || v.units != nil && !m.r.inUnit(v.units, f.Unit) || v.v < f.Possible[0] || v.v > f.Possible[1] {
			continue
		}
		i := v.first - 1
		for m.isWord(i, "is") || m.isWord(i, "of") || m.tok(i).text == ":" {
			i--
		}
		if !m.isWord(i, "target") && !m.called(v.first) && !(m.isWord(v.last, "target") && m.numberAt(v.last+1) < 0) {
			continue
		}
		if c := m.chunkAt(v.last); c != nil && c.comp() != nil && m.tok(v.last).text != "target" {
			continue // "target 20 degree split": of something else
		}
		v.use = spent
		m.addFact(fact, plain(v.v))
		return
	}
}

// called tells a figure the plate or the chart asks for: "plate calls for 10".
func (m *message) called(i int) bool {
	if m.isWord(i-1, "for") {
		i--
	}
	if m.isWord(i-1, "be") && (m.isWord(i-2, "should") || m.isWord(i-2, "to") && m.isWord(i-3, "supposed")) {
		return true
	}
	switch m.tok(i - 1).text {
	case "calls", "asks", "says", "wants", "shows", "is":
	default:
		return false
	}
	switch m.tok(i - 2).text {
	case "plate", "nameplate", "sticker", "tag", "label", "chart", "slider", "spec":
		return true
	}
	return false
}

// targetFact is the target meant: the one asked for, else that of what the message
// speaks of, else by the metering device.
func (m *message) targetFact() string {
	if t := m.ctx.AskedFact; t == "target-subcooling" || t == "target-superheat" {
		return t
	}
	spoken := ""
	for k := range m.chunks {
		c := m.chunks[k].comp()
		if c == nil || len(c.At) != 1 {
			continue
		}
		switch q := c.At[0].Quantity(); q {
		case "subcooling", "superheat":
			if spoken != "" && spoken != q {
				return ""
			}
			spoken = q
		}
	}
	if spoken != "" {
		return "target-" + spoken
	}
	device := m.ctx.Facts["metering-device"]
	for _, f := range m.out.Facts {
		if f.Fact == "metering-device" {
			device = f.Value
		}
	}
	switch device {
	case "txv":
		return "target-subcooling"
	case "fixed-orifice":
		return "target-superheat"
	}
	return ""
}
