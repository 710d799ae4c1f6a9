package main

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// echo checks that what the agent asks for is understood when it is told: a person
// repeats the words he was asked with.
type echo struct {
	base     *knowledge.Base
	reader   *understand.Reader
	mistakes knowledge.Errors
	warnings knowledge.Errors
}

// wordMistakes reads back every reading and observation that may be asked for on
// the units. One that is not understood even when it was just asked for is a
// mistake; words of its own that are not understood by themselves, or are taken for
// something else, are a warning.
func wordMistakes(base *knowledge.Base, reader *understand.Reader, units []unit) (mistakes, warnings knowledge.Errors) {
	e := &echo{base: base, reader: reader}
	heard := map[knowledge.ReadingID]bool{}
	for _, u := range units {
		for _, id := range slices.Sorted(maps.Keys(base.Measurements)) {
			if it, ok := sound(u.model, id); ok && !heard[id] {
				heard[id] = true
				e.reading(id, it)
			}
		}
	}
	for _, subject := range slices.Sorted(maps.Keys(base.Observations)) {
		o := base.Observations[subject]
		for _, state := range o.Order {
			e.observation(subject, state, o)
		}
	}
	return e.mistakes, e.warnings
}

// sound is what a sound machine shows at a point that may be asked for.
func sound(m *rules.Model, id knowledge.ReadingID) (rules.Item, bool) {
	ask := m.Question(&rules.Situation{}, string(id), "")
	if ask == nil {
		return rules.Item{}, false
	}
	for _, t := range m.Truths() {
		if t.Fault == "none/normal" {
			return m.Answer(t, ask)
		}
	}
	return rules.Item{}, false
}

func (e *echo) reading(id knowledge.ReadingID, it rules.Item) {
	k, value := e.base.Measurements[id], e.written(id, it.Value)
	understood := false
	asked := understand.Context{Asked: id, AskedState: it.State}
	for _, x := range []struct{ key, text string }{{"", value}, {"name", k.Name + ": " + value}, {"point", value + " at " + k.Point}} {
		took := e.reader.Understand(x.text, asked)
		understood = understood || only(took, id)
		switch alone := e.reader.Understand(x.text, understand.Context{}); {
		case x.key == "":
		case !only(took, id):
			e.warn("measurements/"+string(id), fmt.Sprintf("even when it was asked for, %q is %s", x.text, taken(took)), x.key)
		case !only(alone, id):
			e.warn("measurements/"+string(id), fmt.Sprintf("%q is %s", x.text, taken(alone)), x.key)
		}
	}
	if !understood {
		e.mistakes = append(e.mistakes, e.base.Mistake("measurements/"+string(id),
			fmt.Sprintf("%q is not understood as its answer, even when it was asked for", value), "add words for it under lexicon/"))
	}
}

// only says that a text was read as one reading and no other.
func only(u understand.Utterance, id knowledge.ReadingID) bool {
	return len(u.Readings) == 1 && u.Readings[0].Reading == id
}

// written writes a value as the agent writes it.
func (e *echo) written(id knowledge.ReadingID, v float64) string {
	if math.IsInf(v, 1) {
		return "OL"
	}
	q := e.base.Quantities[id.Quantity()]
	return strconv.FormatFloat(v, 'f', q.Decimals, 64) + " " + q.Shown
}

func (e *echo) observation(subject, state string, o *knowledge.Observation) {
	text, want := o.States[state], understand.Observation{Subject: subject, State: state}
	asked := e.reader.Understand(text, understand.Context{AskedObservation: subject})
	switch alone := e.reader.Understand(text, understand.Context{}); {
	case !slices.Contains(asked.Observations, want):
		e.warn("observations/"+subject, fmt.Sprintf("even when it was asked for, %q is %s", text, seen(asked)), "states", state)
	case !slices.Contains(alone.Observations, want):
		e.warn("observations/"+subject, fmt.Sprintf("%q is %s", text, seen(alone)), "states", state)
	}
}

func (e *echo) warn(item, what string, keys ...any) {
	e.warnings = append(e.warnings, e.base.Mistake(item, what, "add words for it under lexicon/", keys...))
}

// taken says what a text was read as.
func taken(u understand.Utterance) string {
	if len(u.Readings) > 0 {
		return "taken for " + string(u.Readings[0].Reading)
	}
	for _, x := range u.Unclear {
		if len(x.Options) > 0 {
			return "asked back: " + strings.Join(x.Options, " or ")
		}
	}
	return "not understood"
}

func seen(u understand.Utterance) string {
	if len(u.Observations) > 0 {
		return "taken for " + u.Observations[0].Subject + " " + u.Observations[0].State
	}
	return "not understood"
}
