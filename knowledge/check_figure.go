package knowledge

import (
	"slices"
	"strconv"
	"strings"
)

// units are those figures of the trade may be in besides the quantities' own. psi is
// a difference of pressures.
var units = []string{"share", "probability", "times", "ton", "cfm/ton", "psi", "year", "%"}

// unit wants one that is known.
func (s spot) unit(u string) {
	if u == "" || s.c.lost["quantities"] {
		return
	}
	known := slices.Clone(units)
	for _, q := range s.c.b.Quantities {
		known = append(known, q.Unit)
	}
	slices.Sort(known)
	s.in("unit").oneOf("unit", u, slices.Compact(known)...)
}

func (c *checker) limit(s spot, id string, l *Limit) {
	s.source(l.Source)
	s.text(l.Unit, "unit", "write what it is in: psig, A, share, ...")
	s.unit(l.Unit)
	s.in("from").figure(l.From)
	s.in("value").figure(&Figure{Value: l.Value})
	for _, fact := range keysOf(l.By) {
		if at := s.in("by", fact); at.ref("facts", fact) {
			at.worths(c.b.Facts[fact], keysOf(l.By[fact]))
		}
	}
	if c.b.Facts[id] != nil {
		s.fail("give one of the two another name", "a fact has the same name, and a figure could mean either")
	}
	seen := map[string]bool{id: true}
	for at := l; at != nil && at.From != nil; at = c.b.Limits[at.From.Name] {
		if at.From.Name == id {
			s.in("from").fail("take it from a fact, or give only the value", "the limit is taken from itself")
		}
		if seen[at.From.Name] {
			return
		}
		seen[at.From.Name] = true
	}
}

// worths wants values a fact can have; a refrigerant whose table is known will do
// though a shop's plates never name it.
func (s spot) worths(f *Fact, values []string) {
	for _, v := range values {
		if s.c.b.Refrigerants[v] == nil {
			s.in(v).oneOf("value", v, f.Values...)
		}
	}
}

func (c *checker) fact(s spot, id string, f *Fact) {
	s.source(f.Source)
	s.text(f.Name, "name", "name it as a sentence would: `name: control fuse's rating`")
	s.text(f.Ask, "ask", "write the question")
	if f.Minutes <= 0 {
		s.in("minutes").fail("say how long it takes to find out, in minutes", "it takes no time")
	}
	if f.From != "" {
		s.in("from").ref("measurements", f.From)
	}
	if len(f.Values) > 0 {
		s.in("default").oneOf("default", f.Default, f.Values...)
		if f.Unit != "" {
			s.in("unit").fail("give it either values or a unit", "it is one of a few words and yet has a unit")
		}
		c.charged(s, id, f)
		return
	}
	s.text(f.Unit, "unit", "list its values: or give the unit: of a number")
	s.unit(f.Unit)
	lo, hi := f.Possible[0], f.Possible[1]
	if lo >= hi {
		s.in("possible").fail("write the lowest, then the highest value that can be", "%v is no span", f.Possible)
	} else if v, err := strconv.ParseFloat(f.Default, 64); err != nil || !(v >= lo && v <= hi) {
		s.in("default").fail("write a number within possible:", "the default %q is not between %g and %g", f.Default, lo, hi)
	}
}

// charged wants a saturation table for every refrigerant that may be told.
func (c *checker) charged(s spot, id string, f *Fact) {
	if id != "refrigerant" || c.lost["refrigerants"] {
		return
	}
	for i, r := range f.Values {
		if c.b.Refrigerants[r] == nil {
			s.in("values", i).fail(suggest(r, c.ids["refrigerants"], "add its table under refrigerants/"), "no refrigerant is called %q", r)
		}
	}
}

// safetyClasses are those of ASHRAE 34.
var safetyClasses = []string{"A1", "A2L", "A2", "A3", "B1", "B2L", "B2", "B3"}

func (c *checker) refrigerant(s spot, _ string, r *Refrigerant) {
	s.source(r.Source)
	s.text(r.Name, "name", "name it")
	s.in("class").oneOf("safety class", r.Class, safetyClasses...)
	if len(r.Table) < 2 {
		s.in("table").fail("give at least two rows of temperature, bubble and dew pressure", "the table has %d rows", len(r.Table))
	}
	for i, row := range r.Table {
		at := s.in("table", i)
		if row[1] <= -14.696 || row[2] <= -14.696 {
			at.fail("write psig at sea level", "a pressure is below vacuum")
		}
		if row[1] < row[2] {
			at.fail("write the bubble pressure before the dew pressure", "the dew pressure is above the bubble pressure")
		}
		if i > 0 {
			last := r.Table[i-1]
			if row[0] <= last[0] || row[1] <= last[1] || row[2] <= last[2] {
				at.fail("sort the rows by temperature and look for a slip in a figure", "the row does not rise above the one before")
			}
		}
	}
}

func (c *checker) equipment(s spot, id string, e *Equipment) {
	s.source(e.Source)
	s.text(e.Name, "name", "name it as a sentence would: `name: split cooling system`")
	if e.Extends != "" && s.in("extends").ref("equipment", e.Extends) && c.extendsItself(id) {
		s.in("extends").fail("name equipment that does not come from this one", "it extends itself")
		return
	}
	before := len(c.errs)
	s.in("circuits").refs("circuits", e.Circuits)
	whole := len(c.errs) == before && (e.Extends == "" || c.b.Equipment[e.Extends] != nil)
	s.in("facts").needs(e.Facts)
	for i, f := range e.Faults {
		s.in("faults", i).ref("faults", f)
	}
	for i, id := range e.Checks {
		s.in("checks", i).ref("checks", id)
	}
	for i, x := range e.Flowchart {
		if strings.Contains(x, "/") {
			s.in("flowchart", i).ref("measurements", x)
		} else {
			s.in("flowchart", i).ref("observations", x)
		}
	}
	for _, q := range keysOf(e.Spread) {
		at := s.in("spread", q)
		at.ref("quantities", q)
		if e.Spread[q].Percent < 0 || e.Spread[q].Counts < 0 {
			at.fail("write zero or more", "a spread is below zero")
		}
	}
	for _, from := range keysOf(e.ChangeMinutes) {
		s.in("change-minutes", from).oneOf("state", from, States...)
		for _, to := range keysOf(e.ChangeMinutes[from]) {
			s.in("change-minutes", from, to).oneOf("state", to, States...)
		}
	}
	if !whole || c.lostWiring() {
		return
	}
	if w := c.b.Wiring(id); len(w.Components) == 0 {
		s.fail("name its circuits:, or the equipment it extends:", "it has no component")
	}
	c.wiring(id)
	c.processes(s, id, e)
}

func (c *checker) extendsItself(id string) bool {
	seen := map[string]bool{}
	for e := c.b.Equipment[id]; e != nil && e.Extends != ""; e = c.b.Equipment[e.Extends] {
		if e.Extends == id {
			return true
		}
		if seen[e.Extends] {
			return false
		}
		seen[e.Extends] = true
	}
	return false
}

// processes checks the cases of each process variable: the first that holds
// applies, so the last must always hold and none may come after it.
func (c *checker) processes(s spot, id string, e *Equipment) {
	sc := c.b.scope(id, c.b.Wiring(id))
	for _, v := range keysOf(e.Process) {
		at := s.in("process", v)
		at.ref("measurements", v)
		for i, x := range e.Process[v] {
			one := at.in(i)
			one.in("when").condition(sc, x.When)
			one.in("value").figure(x.Value)
			one.in("saturation").figure(x.Saturation)
			one.in("bubble").figure(x.Bubble)
			if said(x.Value, x.Saturation, x.Bubble) != 1 {
				one.fail("give it one of value, saturation and bubble", "the case does not say what is read")
			}
			if x.Spread < 0 {
				one.in("spread").fail("write zero or more", "%g is no spread", x.Spread)
			}
			if last := i == len(e.Process[v])-1; last && len(x.When) > 0 {
				one.fail("end with a case that has no when:", "nothing is said of when no case holds")
			} else if !last && len(x.When) == 0 {
				one.fail("put the case without when: last", "the cases after this one are never reached")
			}
		}
	}
}

// said counts the figures that are given.
func said(figures ...*Figure) int {
	n := 0
	for _, f := range figures {
		if f != nil {
			n++
		}
	}
	return n
}
