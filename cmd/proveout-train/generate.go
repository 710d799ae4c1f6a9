package main

import (
	_ "embed" // the shapes are part of the program
	"fmt"
	"math/rand/v2"
	"strings"

	"proveout/knowledge"
)

//go:embed shapes.txt
var shapeFile string

// generator makes marked messages out of the words of a lexicon.
type generator struct {
	rng    *rand.Rand
	shapes map[string][]string
	words  map[string][]string
}

// kinds are the sections of the shapes and how often each is drawn, in order.
var kinds = []struct {
	name  string
	share int
}{{"reading", 50}, {"lone", 14}, {"nothing", 5}, {"seen", 12}, {"correct", 7}, {"fact", 4}, {"aside", 32}, {"chat", 8}}

func newGenerator(base *knowledge.Base, seed uint64) (*generator, error) {
	g := &generator{rng: rand.New(rand.NewPCG(seed, 1)), shapes: map[string][]string{}, words: map[string][]string{}}
	section := ""
	for line := range strings.Lines(shapeFile) {
		line = strings.TrimSpace(line)
		switch {
		case line == "":
		case strings.HasPrefix(line, "## "):
			section = line[3:]
		case !strings.HasPrefix(line, "#"):
			g.shapes[section] = append(g.shapes[section], line)
		}
	}
	v := vocabularyOf(base)
	g.words = map[string][]string{
		"point": v.points, "component": v.components, "terminal": v.terminals, "side": v.sides, "at": v.at, "quantity": v.quantities, "quantity1": v.quantities,
		"unit": v.units, "state": v.states, "not": v.negations, "nothing": v.nothing, "reads": v.reads, "about": v.about,
		"filler": v.fillers, "fix": v.strong, "fact": v.facts, "aside": v.asides, "intent": v.intents, "number": v.numbers,
		"verb": listed(verbs), "verb0": listed("hit touch poke probe check clamp measure meter test ohm"),
		"tool": listed("meter clamp probe gauge fluke leads tester thermometer"), "timeunit": listed("minutes min hours hrs hour days"),
		"thing": listed(things), "code": listed("code combo pin password serial model number ticket order account id extension"),
		"placeword": listed("unit apt apartment suite lot building floor room gate door aisle zone route exit hwy bay row block space slot rack shelf level phase section tower house truck van job ticket page"),
		"place2":    listed("highway freeway route exit channel line table booth stop stall locker box bin aisle lane pier dock terminal ward bed seat locker mailbox slot trailer space stop suite apartment building unit room floor lot door gate house street avenue"),
		"ordinary":  nil, "head": heads(v.points),
	}
	for _, p := range base.Lexicon.Sorted() {
		if p.Language != "en" {
			continue
		}
		for _, w := range p.Ordinary {
			if len(w) > 2 {
				g.words["ordinary"] = append(g.words["ordinary"], w)
			}
		}
	}
	for _, k := range kinds {
		if len(g.shapes[k.name]) == 0 {
			return nil, fmt.Errorf("preparing to generate messages: shapes.txt has no section %q", k.name)
		}
	}
	for name, list := range g.words {
		if len(list) == 0 {
			return nil, fmt.Errorf("preparing to generate messages: the lexicon has no words for %q", name)
		}
	}
	return g, nil
}

func listed(s string) []string { return strings.Fields(s) }

const (
	verbs = `reads shows says sits hangs hovers stays runs pulls draws gives reports measures holds drops jumps lands tops hits
 floats rests reached started ended peaked settled bounced crept spits tells indicates registers displays dances wanders
 climbs sinks levels steadies flickers puts makes came went stuck stopped plateaued`
	things = `dog cat kid son daughter wife husband boss helper neighbor truck van trailer car bill check ticket phone number bag
 box screw nail bolt washer tape roll tile panel brick board plank tree fence pool garage closet kitchen room shed porch roof
 hatch stair chair bucket hose rope shirt boot glove hat lunch coffee soda taco burger game team race song mile trip tank pump
 drum bottle cable battery charger radio clock watch camera laptop printer desk lamp bulb paint lumber pallet crate shelf
 mailbox window curtain carpet sink toilet shower bathtub grill mower hammer wrench saw drill bit pliers level square knife
 vacuum blanket freezer birthday blood weight age height fever pulse speed fine loan rent wage raise bonus permit license
 meeting class grade test score page book channel station flight bus train bike horse cow chicken fish bug bee wasp snake`
)

// heads are the last words of points said in several.
func heads(points []string) []string {
	var out []string
	for _, p := range points {
		if f := strings.Fields(p); len(f) > 1 && len(f[len(f)-1]) > 2 {
			out = append(out, f[len(f)-1])
		}
	}
	return out
}

// message is one to three clauses, marked.
func (g *generator) message() string {
	n := 1
	if g.chance(45) {
		n++
	}
	if g.chance(12) {
		n++
	}
	var b strings.Builder
	for i := range n {
		if i > 0 {
			b.WriteString(g.pick([]string{" and ", ", ", ". ", " but ", "\n", "; ", " ", ", and ", "... ", " then ", " so "}))
		}
		if g.chance(8) {
			b.WriteString(g.pick(g.words["ordinary"]) + " ")
		}
		b.WriteString(g.clause())
		if g.chance(6) {
			b.WriteString(" " + g.pick(g.words["ordinary"]))
		}
	}
	return b.String()
}

func (g *generator) clause() string {
	total := 0
	for _, k := range kinds {
		total += k.share
	}
	at := g.rng.IntN(total)
	for _, k := range kinds {
		if at -= k.share; at < 0 {
			return g.fill(g.pick(g.shapes[k.name]))
		}
	}
	return ""
}

func (g *generator) chance(percent int) bool { return g.rng.IntN(100) < percent }

func (g *generator) pick(list []string) string { return list[g.rng.IntN(len(list))] }

// fill writes out a shape: alternatives first, then the words.
func (g *generator) fill(shape string) string {
	for {
		open := strings.IndexByte(shape, '(')
		if open < 0 {
			break
		}
		end := open + strings.IndexByte(shape[open:], ')')
		shape = shape[:open] + g.pick(strings.Split(shape[open+1:end], "|")) + shape[end+1:]
	}
	var b strings.Builder
	for {
		before, rest, ok := strings.Cut(shape, "{")
		b.WriteString(before)
		if !ok {
			break
		}
		name, after, _ := strings.Cut(rest, "}")
		b.WriteString(g.word(name))
		shape = after
	}
	return strings.Join(strings.FieldsFunc(b.String(), func(r rune) bool { return r == ' ' }), " ")
}

// word is a word or phrase of a kind.
func (g *generator) word(kind string) string {
	switch kind {
	case "v":
		return g.value()
	case "n":
		return g.aside()
	case "nounknown":
		return madeUp(g.rng)
	case "thing":
		if g.chance(25) {
			return madeUp(g.rng)
		}
	case "fact", "aside", "intent":
		return g.pattern(g.pick(g.words[kind]), kind == "intent")
	}
	return g.phrase(g.pick(g.words[kind]))
}

// phrase writes out a lexicon phrase: one of a|b, [optional] or not.
func (g *generator) phrase(p string) string {
	var out []string
	skip := false
	for f := range strings.FieldsSeq(p) {
		if strings.HasPrefix(f, "[") {
			skip, f = g.chance(50), f[1:]
		}
		closes := strings.HasSuffix(f, "]")
		f = strings.TrimSuffix(f, "]")
		if f != "" && !skip {
			out = append(out, strings.NewReplacer("[", "", "]", "").Replace(g.pick(strings.Split(f, "|"))))
		}
		skip = skip && !closes
	}
	return strings.Join(out, " ")
}

// pattern writes out a pattern; its numbers are no readings.
func (g *generator) pattern(p string, wish bool) string {
	var out []string
	for f := range strings.FieldsSeq(g.phrase(p)) {
		switch f {
		case "<n>":
			out = append(out, "[D "+g.aside()+"]")
		case "<part>":
			out = append(out, g.phrase(g.pick(g.words["component"])))
		case "<tool>":
			out = append(out, g.pick(g.words["tool"]))
		case "<start>", "<end>":
		case "...":
			if g.chance(50) {
				out = append(out, g.pick(g.words["ordinary"]))
			}
		default:
			if !wish && isDigits(f) {
				f = "[D " + f + "]"
			}
			out = append(out, f)
		}
	}
	return strings.Join(out, " ")
}

func isDigits(s string) bool { return strings.Trim(s, "0123456789") == "" }

// value is a figure a meter could show.
func (g *generator) value() string {
	r := g.rng
	switch n := r.IntN(100); {
	case n < 8:
		return "0"
	case n < 30:
		return fmt.Sprint(20 + r.IntN(9))
	case n < 42:
		return fmt.Sprint(105 + r.IntN(30))
	case n < 50:
		return fmt.Sprint(228 + r.IntN(20))
	case n < 58:
		return fmt.Sprint(350 + r.IntN(110))
	case n < 74:
		return fmt.Sprint(40 + r.IntN(65))
	case n < 84:
		return fmt.Sprintf("%d.%d", r.IntN(30), r.IntN(10))
	case n < 88:
		return fmt.Sprintf("0.%d", r.IntN(100))
	case n < 91:
		return fmt.Sprintf(".%d", 1+r.IntN(9))
	case n < 93:
		return fmt.Sprint(1 + r.IntN(9))
	case n < 95:
		return fmt.Sprintf("%d", 10+r.IntN(490))
	}
	return g.spoken()
}

// spoken is a figure in words: "two forty", "twenty six".
func (g *generator) spoken() string {
	units := listed("one two three four five six seven eight nine")
	tens := listed("twenty thirty forty fifty sixty seventy eighty ninety")
	ten := g.pick(tens)
	if g.chance(60) {
		ten += " " + g.pick(units)
	}
	switch g.rng.IntN(4) {
	case 0:
		return g.pick(units) + " " + ten
	case 1:
		return "point " + g.pick(units)
	case 2:
		return g.pick(units) + " " + g.pick(listed("ten eleven twelve fifteen eighteen nineteen"))
	}
	return ten
}

// aside is a number that is no reading.
func (g *generator) aside() string {
	r := g.rng
	switch n := r.IntN(100); {
	case n < 25:
		return fmt.Sprint(1 + r.IntN(12))
	case n < 52:
		return fmt.Sprint(10 + r.IntN(90))
	case n < 74:
		return fmt.Sprint(100 + r.IntN(400))
	case n < 84:
		return fmt.Sprint(1000 + r.IntN(9000))
	case n < 87:
		return fmt.Sprint(10000 + r.IntN(90000))
	case n < 89:
		return fmt.Sprint(100000 + r.IntN(9900000))
	case n < 93:
		return fmt.Sprintf("%d.%d", r.IntN(20), r.IntN(10))
	case n < 96:
		return fmt.Sprintf("%d:%d%d", 1+r.IntN(12), r.IntN(6), r.IntN(10))
	}
	return g.pick(listed("one two three four five six seven eight nine ten twelve twenty thirty forty"))
}
