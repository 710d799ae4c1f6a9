package knowledge

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"
)

// checker finds what the YAML decoder cannot: ids that lead nowhere, figures out of
// place, texts missing. It says nothing of what rests on an item that could not be
// read: that mistake is mended first.
type checker struct {
	b    *Base
	lost map[string]bool // sections, and items as section/id, that could not be read
	ids  map[string][]string
	all  *scope // what any equipment has
	errs Errors
	met  map[Error][]string // mistakes in what is shared: the equipment each was met in
}

func newChecker(b *Base, lost map[string]bool) *checker {
	return &checker{b: b, lost: lost, ids: b.idsBySection(), met: map[Error][]string{}}
}

// check goes over every item, and returns the mistakes in no order.
func (c *checker) check() Errors {
	c.ids = c.b.idsBySection() // with what was derived
	c.all = c.everything()
	each(c, "quantities", c.b.Quantities, (*checker).quantity)
	each(c, "facts", c.b.Facts, (*checker).fact)
	each(c, "limits", c.b.Limits, (*checker).limit)
	each(c, "refrigerants", c.b.Refrigerants, (*checker).refrigerant)
	each(c, "targets", c.b.Targets, (*checker).target)
	each(c, "kinds", c.b.Kinds, (*checker).kind)
	each(c, "circuits", c.b.Circuits, (*checker).circuit)
	each(c, "equipment", c.b.Equipment, (*checker).equipment)
	c.shared()
	each(c, "measurements", c.b.Measurements, (*checker).measurement)
	each(c, "observations", c.b.Observations, (*checker).observation)
	each(c, "faults", c.b.Faults, (*checker).fault)
	each(c, "checks", c.b.Checks, (*checker).afterRepair)
	each(c, "cautions", c.b.Cautions, (*checker).caution)
	c.phrases()
	c.tongues()
	c.lexicon()
	return c.errs
}

// each checks every item of a section that could be read and was not derived.
func each[K ~string, T any](c *checker, section string, items map[K]*T, check func(*checker, spot, string, *T)) {
	for id, item := range items {
		full := section + "/" + string(id)
		if _, written := c.b.where[full]; written && !c.lost[full] {
			s := spot{c: c, item: full}
			s.wellNamed(section, string(id))
			check(c, s, string(id), item)
		}
	}
}

// spot is a place in an item, and where mistakes are noted.
type spot struct {
	c    *checker
	item string
	keys []any
}

// in is a spot deeper in the item.
func (s spot) in(keys ...any) spot {
	s.keys = append(slices.Clip(s.keys), keys...)
	return s
}

// fail notes a mistake at the spot, or as near above it as the item goes.
func (s spot) fail(mend, what string, args ...any) {
	s.c.errs = append(s.c.errs, s.c.b.at(s.item, fmt.Sprintf(what, args...), mend, s.keys...))
}

var (
	plainName = regexp.MustCompile(`^[A-Za-z0-9]+([-.][A-Za-z0-9]+)*$`)
	twoNames  = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*/[a-z0-9]+(-[a-z0-9]+)*$`)
)

// wellNamed holds an id to the form the vocabulary gives it.
func (s spot) wellNamed(section, id string) {
	switch section {
	case "measurements":
		if !twoNames.MatchString(id) {
			s.fail("write quantity/point, such as voltage/contactor-coil", "%q is no name for a reading", id)
		}
	case "faults":
		if !twoNames.MatchString(id) {
			s.fail("write component/mode, such as contactor-coil/open", "%q is no name for a fault", id)
		}
	default:
		if !plainName.MatchString(id) {
			s.fail("write it in small letters and figures joined by hyphens", "%q is no name for an item", id)
		}
	}
}

// text wants a field to say something.
func (s spot) text(value, key, mend string) {
	if strings.TrimSpace(value) == "" {
		s.fail(mend, "it has no %s", key)
	}
}

const sourceMend = "write where it comes from: a published source, common practice, from memory, or judgement"

func (s spot) source(value string) { s.text(value, "source", sourceMend) }

// oneOf wants a value to be one of a few.
func (s spot) oneOf(what, value string, known ...string) bool {
	if slices.Contains(known, value) {
		return true
	}
	s.fail(suggest(value, known, "write one of "+strings.Join(known, ", ")), "%s %q is not known", what, value)
	return false
}

// ref wants an id to be one of a section's, and says whether what it names can be
// looked into.
func (s spot) ref(section, id string) bool {
	c := s.c
	if c.lost[section] || c.lost[section+"/"+id] || c.lostWiring() && (section == "measurements" || section == "faults") {
		return false
	}
	known := c.ids[section]
	if _, ok := slices.BinarySearch(known, id); ok {
		return true
	}
	s.fail(suggest(id, known, "name one of those under "+section+"/, or add it there"), "no %s is called %q", singular(section), id)
	return false
}

func (s spot) refs(section string, ids []string) {
	for i, id := range ids {
		s.in(i).ref(section, id)
	}
}

func singular(section string) string {
	switch section {
	case "equipment":
		return "equipment"
	case "quantities":
		return "quantity"
	}
	return strings.TrimSuffix(section, "s")
}

// lostWiring says that a netlist could not be read, so that nothing can be said of
// what names its parts.
func (c *checker) lostWiring() bool {
	for what := range c.lost {
		section, _, _ := strings.Cut(what, "/")
		if section == "kinds" || section == "circuits" || section == "equipment" {
			return true
		}
	}
	return false
}

// idsBySection lists what there is, sorted, for looking up and for suggesting.
func (b *Base) idsBySection() map[string][]string {
	return map[string][]string{
		"quantities": keysOf(b.Quantities), "measurements": keysOf(b.Measurements), "observations": keysOf(b.Observations),
		"facts": keysOf(b.Facts), "kinds": keysOf(b.Kinds), "circuits": keysOf(b.Circuits), "equipment": keysOf(b.Equipment),
		"faults": keysOf(b.Faults), "checks": keysOf(b.Checks), "cautions": keysOf(b.Cautions), "limits": keysOf(b.Limits),
		"refrigerants": keysOf(b.Refrigerants), "targets": keysOf(b.Targets),
	}
}

// keysOf lists a map's keys in order, as texts.
func keysOf[K ~string, V any](m map[K]V) []string {
	out := make([]string, 0, len(m))
	for _, k := range slices.Sorted(maps.Keys(m)) {
		out = append(out, string(k))
	}
	return out
}
