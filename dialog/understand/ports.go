package understand

import (
	"slices"
	"strings"

	"proveout/knowledge"
)

// bothPorts places "18 psi both", "off, 250 both": one figure for the two gauges,
// when its unit or the talk around it is of pressure.
func (m *message) bothPorts() {
	if len(m.r.rows) == 0 {
		return
	}
	row := m.r.rows[0]
	for k := range m.values {
		v := &m.values[k]
		if v.use != open || v.kind != figure || v.pair >= 0 || m.placedAt(k) || !m.saysBoth(v) || !m.ofPressure(v) {
			continue
		}
		for _, id := range row {
			if m.has(id) || !m.admits(v, nil, id) {
				return
			}
		}
		for _, id := range row {
			m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byAll})
		}
	}
}

// bothAsked places "120 both" at every reading of the part one of which was asked:
// each leg to ground.
func (m *message) bothAsked() {
	for _, c := range m.r.sided {
		if !c.All || !slices.Contains(c.Both, m.ctx.Asked) {
			continue
		}
		for k := range m.values {
			v := &m.values[k]
			if v.use != open || v.kind != figure || v.pair >= 0 || m.placedAt(k) || !m.saysBoth(v) || !m.admits(v, nil, m.ctx.Asked) || !m.usual(v, m.ctx.Asked) {
				continue
			}
			for _, id := range c.Both {
				m.found = append(m.found, finding{value: k, place: -1, id: id, rule: byAll})
			}
		}
	}
}

// saysBoth tells "both" beside a value: "250 both", "both at 250".
func (m *message) saysBoth(v *value) bool {
	first, last := v.first-1, v.last
	for first > 0 && (m.isWord(first, "at") || m.isWord(first, "are") || m.isWord(first, "sitting")) {
		first--
	}
	for last < len(m.toks) && (m.isWord(last, "on") || m.isWord(last, "for")) {
		last++
	}
	return m.isWord(first, "both") || m.isWord(last, "both")
}

// ofPressure tells that a value is a pressure by its unit, by what was asked, or,
// where no gauge shows less with the machine off, by what the message says of it.
func (m *message) ofPressure(v *value) bool {
	if v.units != nil {
		return hasQuantity(v.units, "pressure")
	}
	if v.hint == "pressure" || m.askedQuantity("pressure") {
		return true
	}
	for k := range m.chunks {
		if m.chunks[k].quantity() == "pressure" {
			return true
		}
	}
	return m.machineOff() && v.v >= leastStanding && m.usual(v, m.r.rows[0][0])
}

// leastStanding is what a bare figure for both sides of a machine that is off must be
// to be no line voltage to ground and no control voltage.
const leastStanding = 130

// machineOff tells that the message says the machine is off.
func (m *message) machineOff() bool {
	for i := range m.matches {
		if x := &m.matches[i]; x.what == machinePattern && (x.id == knowledge.Standing || x.id == knowledge.DeEnergised) {
			return true
		}
	}
	return false
}

// ports tells the word for both gauges, which takes one figure too: "pressures 250".
func (p *place) ports(m *message) bool {
	return p.comp != nil && len(p.both) == 2 && len(m.r.rows) > 0 && p.both[0] == m.r.rows[0][0] && p.both[1] == m.r.rows[0][1] && !p.comp.Torn
}

// portsAlike tells one figure for both gauges that both can show.
func (m *message) portsAlike(v *value, p *place) bool {
	return p.ports(m) && (m.machineOff() || m.saysBoth(v) || m.usual(v, p.both[0]) && m.usual(v, p.both[1]))
}

// switchedOff tells the "off" of what was done to the power or the machine, no
// place and no sight of a part: "power off", "shut it off", "off, 250 both".
func (m *message) switchedOff(k int) bool {
	c := &m.chunks[k]
	if !m.isWord(c.last-1, "off") && !m.isWord(c.last-1, "down") && !m.isWord(c.first, "off") {
		return false
	}
	for i := range m.matches {
		x := &m.matches[i]
		if x.what != machinePattern || x.first >= c.last || c.first >= x.last {
			continue
		}
		if x.id == knowledge.DeEnergised || x.id == knowledge.Standing && (m.acted(x.first) || x.first == c.first) {
			return true
		}
	}
	return false
}

// ofMachine tells a word that only says what state the machine is in: "with it off".
func (m *message) ofMachine(k int) bool {
	c := &m.chunks[k]
	return slices.ContainsFunc(m.matches, func(x match) bool { return x.what == machinePattern && x.first < c.last && c.first < x.last })
}

// acted tells a verb of somebody who switches: what he did is nothing seen.
func (m *message) acted(i int) bool {
	switch m.tok(i).text {
	case "shut", "turned", "cut", "switched", "killed", "flipped", "locked", "shutting", "turn":
		return true
	}
	return false
}

// saidQuantity is the quantity a unit or a word beside a value gives it, or "".
func (v *value) saidQuantity() string {
	switch {
	case len(v.units) > 0:
		return v.units[0].quantity
	case v.hint != "":
		return v.hint
	}
	return ""
}

// onlyOption is the place of a figure of known quantity that no other usual place
// comes near and the message names none: 88 amps are the compressor's. To ask
// "which of one" is no question.
func (m *message) onlyOption(v *value, options []string) knowledge.ReadingID {
	q := v.saidQuantity()
	if q == "" || v.barred || len(options) != 1 || len(m.places) > 0 {
		return ""
	}
	id := knowledge.ReadingID(options[0])
	if id.Quantity() != q || m.has(id) || !m.usual(v, id) {
		return ""
	}
	x, _, _, _ := m.convert(v, q)
	for _, other := range m.r.guesses[q] {
		if fits, ok := m.r.fits[other]; other != id && (!ok || x < 2*fits[1] || m.otherSide(id) == other) {
			return ""
		}
	}
	return id
}

// seenInstead tells a word for nothing that was said of a part which is seen: "the
// blower's dead" is no 0 V anywhere.
func (m *message) seenInstead(v *value) bool {
	if v.kind != nothing || m.chunkOf[v.first] < 0 {
		return false
	}
	k := int(m.chunkOf[v.first])
	if !m.chunks[k].hasState() {
		return false
	}
	subjects := append(m.subjectsBefore(k), m.subjectsAfter(k)...)
	return len(subjects) > 0
}

// zeroOfEither tells a bare 0 at another point than the one whose ohms were asked:
// 0 V or 0 ohms.
func (m *message) zeroOfEither(v *value, p *place, ids []knowledge.ReadingID) []knowledge.ReadingID {
	if v.kind != figure || v.v != 0 || v.units != nil || v.hint != "" || v.quantity != "" || p.quantity != "" || !m.askedQuantity("resistance") || slices.Contains(ids, m.ctx.Asked) {
		return nil
	}
	volts, ohms := narrow(ids, "voltage"), narrow(ids, "resistance")
	if len(ids) == 0 || volts[0].Quantity() != "voltage" || ohms[0].Quantity() != "resistance" {
		return nil
	}
	return []knowledge.ReadingID{volts[0], ohms[0]}
}

// liveOrOhms tells a bare figure between a terminal and ground that is as much as a
// live leg shows, "c to ground 120": volts or ohms, unless the message or the
// question says.
func (m *message) liveOrOhms(v *value, p *place, ids []knowledge.ReadingID) []knowledge.ReadingID {
	legs := m.r.components["legs"]
	if v.kind != figure || v.v == 0 || v.units != nil || v.hint != "" || v.quantity != "" || p.quantity != "" || legs == nil || len(ids) != 1 || ids[0].Quantity() != "resistance" || !strings.HasSuffix(ids[0].Point(), "-ground") {
		return nil
	}
	if m.askedQuantity("resistance") || m.spokenQuantity(v.first) == "resistance" || m.neighbourQuantity(p) == "resistance" || m.powerOff() || !m.usual(v, legs.Both[0]) {
		return nil
	}
	return append(slices.Clone(legs.Both), ids[0])
}

// powerOff tells that the message says the power is off.
func (m *message) powerOff() bool {
	return slices.ContainsFunc(m.matches, func(x match) bool { return x.what == machinePattern && x.id == knowledge.DeEnergised })
}

// ofPower tells an "on" or "off" said of the power: "power's back on now".
func (m *message) ofPower(k int) bool {
	for j := k - 1; j >= 0 && j >= k-2 && m.sameClause(m.chunks[j].last, m.chunks[k].first); j-- {
		c := &m.chunks[j]
		if m.chunks[k].first-c.last <= 2 && (m.isWord(c.last-1, "power") || m.isWord(c.last-1, "juice")) {
			return true
		}
	}
	return false
}
