package understand

import "slices"

// trie finds the longest phrase at a token.
type trie struct {
	next  map[int32]*trie
	here  []meaning
	in    languages // of any meaning here
	mixed bool      // meanings here differ in their languages
}

// add enters every reading of a phrase's alternatives.
func (t *trie) add(elems []element, m meaning) {
	if len(elems) == 0 {
		t.mean(m)
		return
	}
	e := elems[0]
	if e.optional {
		t.add(elems[1:], m)
	}
	for _, alt := range e.words {
		n := t
		for _, id := range alt {
			n = n.step(id)
		}
		n.add(elems[1:], m)
	}
}

// mean adds a meaning, or its language to the same one.
func (t *trie) mean(m meaning) {
	known := false
	for i := range t.here {
		same := t.here[i]
		same.in = m.in
		if same == m {
			t.here[i].in |= m.in
			known = true
		}
	}
	if !known {
		t.here = append(t.here, m)
	}
	t.in, t.mixed = 0, false
	for i := range t.here {
		t.in |= t.here[i].in
		t.mixed = t.mixed || t.here[i].in != t.here[0].in
	}
}

func (t *trie) step(id int32) *trie {
	if t.next == nil {
		t.next = map[int32]*trie{}
	}
	n := t.next[id]
	if n == nil {
		n = new(trie)
		t.next[id] = n
	}
	return n
}

// longest gives the meanings of the longest phrase starting at token i in some
// languages, and its end; end is i when there is none.
func (t *trie) longest(toks []token, i int, in languages) ([]meaning, int) {
	var found *trie
	end, plural := i, false
	for n, j := t, i; j < len(toks) && toks[j].id != unknown; {
		next := n.next[toks[j].id]
		if next == nil && toks[j].single > 0 {
			next, plural = n.next[toks[j].single], true
		}
		if n = next; n == nil {
			break
		}
		j++
		if n.in&in != 0 && (!plural || n.names()) {
			found, end = n, j
		}
	}
	if found == nil {
		return nil, i
	}
	return found.meanings(in), end
}

// names tells a phrase that names a part: only parts are told in the plural, while "no
// pressures" is not "no pressure".
func (t *trie) names() bool {
	return slices.ContainsFunc(t.here, func(m meaning) bool { return m.kind == isComponent })
}

// meanings are those in some languages.
func (t *trie) meanings(in languages) []meaning {
	if !t.mixed {
		return t.here
	}
	out := make([]meaning, 0, len(t.here))
	for _, m := range t.here {
		if m.in&in != 0 {
			out = append(out, m)
		}
	}
	return out
}
