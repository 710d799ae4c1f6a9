package understand

import "slices"

// tellSeen makes one state word of every stretch a seen pattern matched: "runs for
// ten seconds and drops out". Its figures count nothing.
func (m *message) tellSeen() {
	slices.SortStableFunc(m.seen, func(a, b match) int { return (b.last - b.first) - (a.last - a.first) })
	var kept []match
	for _, x := range m.seen {
		if !slices.ContainsFunc(kept, func(k match) bool { return k.first < x.last && x.first < k.last }) {
			kept = append(kept, x)
		}
	}
	if kept == nil {
		return
	}
	slices.SortFunc(kept, func(a, b match) int { return a.first - b.first })
	var out []chunk
	for _, c := range m.chunks {
		for len(kept) > 0 && kept[0].first <= c.first {
			if n := len(out); n > 0 {
				out[n-1].last = min(out[n-1].last, kept[0].first)
			}
			out = append(out, kept[0].chunk())
			m.spend(kept[0].first, kept[0].last, aside)
			kept = kept[1:]
		}
		if n := len(out); n == 0 || c.first >= out[n-1].last {
			out = append(out, c)
		}
	}
	for _, x := range kept {
		out = append(out, x.chunk())
		m.spend(x.first, x.last, aside)
	}
	m.chunks = out
	for i := range m.chunkOf {
		m.chunkOf[i] = -1
	}
	for k := range m.chunks {
		for j := m.chunks[k].first; j < m.chunks[k].last; j++ {
			m.chunkOf[j] = int32(k)
		}
	}
}

// chunk is the state word a match makes, with the part it names.
func (x match) chunk() chunk {
	c := chunk{x.first, x.last, []meaning{{kind: isState, state: x.state}}}
	if x.named != nil {
		c.means = append(c.means, meaning{kind: isComponent, comp: x.named})
	}
	return c
}
