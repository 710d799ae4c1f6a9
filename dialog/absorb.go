package dialog

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// questionsAtOnce is how many unplaced figures a reply asks about.
const questionsAtOnce = 3

// absorbed is what a message did to a job's record.
type absorbed struct {
	heard   []string // readings and sightings taken, in words
	notes   []Line   // corrections, doubts, questions
	changed bool     // the evidence or the facts are other than before
}

// absorb takes a message's readings, sightings and facts into the job.
func (a *Agent) absorb(j *Job, u *understand.Utterance) absorbed {
	var out absorbed
	for _, f := range u.Facts {
		a.absorbFact(j, f, &out)
	}
	for _, id := range u.TakenBack {
		a.withdraw(j, id, &out)
	}
	for i := range u.Readings {
		a.absorbReading(j, &u.Readings[i], &out)
	}
	state := stateOfSightings(u)
	for _, o := range a.telling(u.Observations) {
		if o.Subject == "disconnect" && o.State == "pulled" && a.worksDead(j, u) {
			j.Situation.State = knowledge.DeEnergised
			out.heard = append(out.heard, a.item(&rules.Item{Subject: o.Subject, Seen: o.State}))
			continue
		}
		a.absorbSighting(j, o, state, &out)
	}
	if u.Machine != "" {
		j.Situation.State = u.Machine
	}
	a.model(j.Situation.Facts).Settle(&j.Situation)
	if len(u.Puzzles) > 0 { // one at a time: more would be nagging
		out.notes = append(out.notes, Line{Part: Question, Text: a.say("puzzle", "text", u.Puzzles[0])})
	}
	for _, id := range u.Present {
		phrase := "figure"
		if q := id.Quantity(); q == "voltage" || q == "current" {
			phrase = "present"
		}
		out.notes = append(out.notes, Line{Part: Question, Text: a.say(phrase, "point", a.point(id), "name", a.name(id))})
	}
	if u.Foreign && !slices.Contains(u.Intents, "off-topic") {
		out.notes = append(out.notes, Line{Part: Question, Text: a.say("foreign")})
	}
	if len(u.Readings)+len(u.Unclear) > 0 { // what is asked anew, or is left of what was asked
		out.notes = append(out.notes, a.askAbout(u.Standing)...)
	}
	return out
}

// askAbout asks what figures were read on, a few at once.
func (a *Agent) askAbout(standing []understand.Standing) []Line {
	var out []Line
	for _, q := range standing[:min(questionsAtOnce, len(standing))] {
		out = append(out, Line{Part: Question, Text: a.askWhich(q.Unclear)})
	}
	if n := len(standing) - questionsAtOnce; n > 0 {
		out = append(out, Line{Part: Question, Text: a.base.Phrases.Count("unclear-more", n)})
	}
	return out
}

func (a *Agent) askWhich(q understand.Unclear) string {
	if len(q.Scales) > 0 {
		return a.say("unclear-scale", "text", q.Text, "point", a.point(knowledge.ReadingID(q.Options[0])), "scales", a.either(q.Scales))
	}
	var options []string
	for _, o := range q.Options {
		options = append(options, a.optionName(o))
	}
	if len(options) == 0 {
		return a.say("unclear-bare", "text", q.Text)
	}
	if len(options) == 1 {
		return a.say("unclear-one", "text", q.Text, "option", options[0])
	}
	return a.say("unclear", "text", q.Text, "options", a.either(options))
}

func (a *Agent) optionName(id string) string {
	if strings.Contains(id, "/") {
		return a.name(knowledge.ReadingID(id))
	}
	if f := a.base.Facts[id]; f != nil {
		return f.Name
	}
	return a.subject(id)
}

func (a *Agent) absorbFact(j *Job, f understand.Fact, out *absorbed) {
	name := strings.ReplaceAll(f.Fact, "-", " ")
	if k := a.base.Facts[f.Fact]; k != nil {
		name = k.Name
	}
	old, had := j.Situation.Facts[f.Fact]
	if had && old == f.Value {
		return
	}
	j.Situation.Facts[f.Fact] = f.Value
	out.changed = true
	if had {
		out.notes = append(out.notes, Line{Part: Heard, Text: a.say("fact-changed", "name", name, "new", a.known(f.Fact, f.Value), "old", a.known(f.Fact, old))})
		return
	}
	out.heard = append(out.heard, a.say("fact", "name", name, "value", a.known(f.Fact, f.Value)))
}

func (a *Agent) absorbReading(j *Job, r *understand.Reading, out *absorbed) {
	q := r.Reading.Quantity()
	if r.Impossible {
		phrase := "impossible"
		if q == "pressure" && r.Value < 0 {
			phrase = "impossible-vacuum"
		}
		out.notes = append(out.notes, Line{Part: Question, Text: a.say(phrase, "value", a.value(q, float64(r.Value)), "point", a.point(r.Reading))})
		return
	}
	it := rules.Item{Reading: r.Reading, Value: float64(r.Value), State: r.State, Approximate: r.Approximate, Low: r.Low, High: r.High}
	if it.State == "" && j.Asked != nil && j.Asked.Reading == r.Reading {
		it.State = j.Asked.State
	}
	j.readings = append(j.readings, *r)
	a.tellsFact(j, &it)
	shown := a.shown(r)
	out.changed = true
	at := slices.IndexFunc(j.Situation.Evidence, func(e rules.Item) bool {
		return e.Reading == it.Reading && (e.State == it.State || e.State == "" || it.State == "")
	})
	if at < 0 {
		j.Situation.Evidence = append(j.Situation.Evidence, it)
		out.heard = append(out.heard, a.placed(&it, shown))
	} else {
		a.replace(j, at, it, shown, out)
	}
	a.moveTo(j, &it)
}

// withdraw takes the latest reading of a point out of the record, with the fact it
// told: the technician says it was taken somewhere else.
func (a *Agent) withdraw(j *Job, id knowledge.ReadingID, out *absorbed) {
	evidence := j.Situation.Evidence
	for i := len(evidence) - 1; i >= 0; i-- {
		if evidence[i].Reading != id {
			continue
		}
		out.notes = append(out.notes, Line{Part: Heard, Text: a.say("undone", "what", a.item(&evidence[i]))})
		out.changed = true
		j.Situation.Evidence = slices.Delete(evidence, i, i+1)
		break
	}
	for i, r := range slices.Backward(j.readings) {
		if r.Reading == id {
			j.readings = slices.Delete(j.readings, i, i+1)
			break
		}
	}
	for fact, f := range a.base.Facts {
		if f.From == string(id) {
			delete(j.Situation.Facts, fact)
		}
	}
}

// asked lends the reading that tells the fact asked for: a bare 90 answers it.
func (a *Agent) asked(c understand.Context) understand.Context {
	if f := a.base.Facts[c.AskedFact]; f != nil && c.Asked == "" {
		c.Asked = knowledge.ReadingID(f.From)
	}
	return c
}

// tellsFact notes the fact a reading tells: outdoor air is the outdoor
// temperature everything else is held against. Whole degrees are near enough.
func (a *Agent) tellsFact(j *Job, it *rules.Item) {
	for id, f := range a.base.Facts {
		if f.From == string(it.Reading) && f.From != "" && !math.IsInf(it.Value, 0) {
			j.Situation.Facts[id] = strconv.FormatFloat(math.Round(it.Value), 'f', -1, 64)
		}
	}
}

// replace puts a later reading in an earlier one's place. The same value again
// counts as read twice.
func (a *Agent) replace(j *Job, at int, it rules.Item, shown string, out *absorbed) {
	old := j.Situation.Evidence[at]
	if it.State == "" {
		it.State = old.State
	}
	j.Situation.Evidence = append(slices.Delete(j.Situation.Evidence, at, at+1), it)
	j.Situation.Rechecked[a.questionKey(&it)]++
	point := sentence(a.point(it.Reading))
	if a.model(j.Situation.Facts).SameAnswer(&old, &it) {
		out.notes = append(out.notes, Line{Part: Heard, Text: a.say("same", "point", point, "new", shown)})
		return
	}
	out.notes = append(out.notes, Line{Part: Heard, Text: a.say("changed", "point", point, "new", shown, "old", a.value(it.Reading.Quantity(), old.Value))})
}

func (a *Agent) questionKey(it *rules.Item) string {
	what := string(it.Reading)
	if what == "" {
		what = it.Subject
	}
	q := rules.Ask{Reading: it.Reading, Observation: it.Subject, State: it.State}
	if it.State == "" {
		if m := a.base.Measurements[it.Reading]; m != nil && len(m.States) > 0 {
			q.State = m.States[0]
		} else if o := a.base.Observations[what]; o != nil {
			q.State = o.In
		}
	}
	return q.Key()
}

// shown is a reading as it is said back: the converted figure with the one said,
// a range as a range.
func (a *Agent) shown(r *understand.Reading) string {
	q := r.Reading.Quantity()
	v := a.value(q, float64(r.Value))
	switch {
	case r.High > r.Low:
		k := a.base.Quantities[q]
		v = a.say("range", "low", figure(r.Low, k.Decimals), "high", figure(r.High, k.Decimals), "unit", k.Shown, "value", v)
	case r.Approximate:
		v = a.say("about", "value", v)
	}
	if r.Said != "" {
		v = a.say("converted", "value", v, "said", r.Said)
	}
	return v
}

// moveTo notes where a reading says the technician and the machine are.
func (a *Agent) moveTo(j *Job, it *rules.Item) {
	if it.State != "" {
		j.Situation.State = it.State
	}
	if m := a.base.Measurements[it.Reading]; m != nil && m.Place != "" {
		j.Situation.Place = m.Place
	}
}

// telling keeps one sighting a subject, the most telling: a fan that is seen to
// run and to be slow is slow.
func (a *Agent) telling(seen []understand.Observation) []understand.Observation {
	var out []understand.Observation
	for _, o := range seen {
		at := slices.IndexFunc(out, func(p understand.Observation) bool { return p.Subject == o.Subject })
		if at < 0 {
			out = append(out, o)
			continue
		}
		if k := a.base.Observations[o.Subject]; k != nil && rank(k.Order, o.State) < rank(k.Order, out[at].State) {
			out[at] = o
		}
	}
	return out
}

func rank(order []string, state string) int {
	if i := slices.Index(order, state); i >= 0 {
		return i
	}
	return math.MaxInt
}

// stateOfSightings is standing when the message says that something runs with the
// thermostat satisfied.
func stateOfSightings(u *understand.Utterance) string {
	satisfied, runs := false, false
	for _, o := range u.Observations {
		satisfied = satisfied || o.Subject == "thermostat" && o.State == "satisfied"
		runs = runs || o.State == "running" || o.State == "pulled-in"
	}
	if satisfied && runs {
		return knowledge.Standing
	}
	return ""
}

func (a *Agent) absorbSighting(j *Job, o understand.Observation, state string, out *absorbed) {
	k := a.base.Observations[o.Subject]
	it := rules.Item{Subject: o.Subject, Seen: o.State, State: state}
	if state == "" && j.Asked != nil && j.Asked.Observation == o.Subject {
		it.State = j.Asked.State
	}
	if k != nil && it.State == "" {
		it.State = k.In
	}
	said := a.item(&it)
	out.changed = true
	at := slices.IndexFunc(j.Situation.Evidence, func(e rules.Item) bool { return e.Subject == it.Subject && e.State == it.State })
	if at < 0 {
		j.Situation.Evidence = append(j.Situation.Evidence, it)
		out.heard = append(out.heard, said)
		return
	}
	old := j.Situation.Evidence[at]
	j.Situation.Evidence = append(slices.Delete(j.Situation.Evidence, at, at+1), it)
	j.Situation.Rechecked[a.questionKey(&it)]++
	if old.Seen == it.Seen {
		out.heard = append(out.heard, said)
		return
	}
	out.notes = append(out.notes, Line{Part: Heard, Text: a.say("changed", "point", sentence(a.subject(o.Subject)), "new", a.seen(o.Subject, it.Seen), "old", a.seen(o.Subject, old.Seen))})
}

// worksDead says whether a reading with the power off is asked or told: a pulled
// disconnect is then the technician's own doing and no finding.
func (a *Agent) worksDead(j *Job, u *understand.Utterance) bool {
	dead := func(states []string) bool { return slices.Equal(states, []string{knowledge.DeEnergised}) }
	return j.Asked != nil && j.Asked.State == knowledge.DeEnergised || slices.ContainsFunc(u.Readings, func(r understand.Reading) bool {
		m := a.base.Measurements[r.Reading]
		return m != nil && dead(m.States)
	})
}
