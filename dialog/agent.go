package dialog

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
	"proveout/rules"
)

// Agent answers messages. It may be shared between goroutines.
type Agent struct {
	*mind
	base    *knowledge.Base   // as it is said in the agent's language
	speaks  string            // which that is
	tongues map[string]*Agent // the same agent by the language it speaks
}

// mind is what an agent knows and can work out, whatever language it speaks.
type mind struct {
	english   *knowledge.Base
	reader    *understand.Reader
	equipment string
	uses      map[string]bool // facts a model depends on

	usual    *rules.Model // of a unit nothing is told of
	units    models
	weathers models // units under the weather told
}

// New builds the agent for an equipment and compiles its first model. The error
// names what in the knowledge is at fault.
func New(base *knowledge.Base, equipment string) (*Agent, error) {
	reader, err := understand.New(base)
	if err != nil {
		return nil, fmt.Errorf("reading the lexicon: %w", err)
	}
	a := &Agent{mind: &mind{english: base, reader: reader, equipment: equipment, units: newModels(unitsKept), weathers: newModels(weathersKept)}, base: base, speaks: english}
	a.tongues = map[string]*Agent{english: a}
	for _, language := range base.Languages() {
		a.tongues[language] = &Agent{mind: a.mind, base: base.In(language), speaks: language, tongues: a.tongues}
	}
	if a.usual, err = rules.Compile(base, equipment, nil); err != nil {
		return nil, err
	}
	a.uses = a.usual.Uses()
	return a, nil
}

// Open is a job nobody has written to yet.
func (a *Agent) Open() *Job { return a.OpenIn("") }

// OpenIn is such a job in the language that is spoken until its technician writes
// another.
func (a *Agent) OpenIn(language string) *Job {
	return &Job{
		Status: Measuring, language: language,
		Situation: rules.Situation{
			Facts: map[string]string{}, Lacks: map[string]bool{}, CannotTake: map[string]bool{}, Rechecked: map[string]int{}, LetBe: map[string]bool{},
			State: knowledge.Calling,
		},
		said: map[string]bool{}, ruledOut: map[string]bool{},
	}
}

// model is the compiled unit the facts describe, under the weather they tell.
// Facts under which no unit can be built leave the usual one standing.
func (a *mind) model(facts map[string]string) *rules.Model {
	unit, under := a.split(facts)
	m := a.usual
	if len(unit) > 0 {
		m = a.units.get(keyOf(unit), a.usual, func() (*rules.Model, error) { return rules.Compile(a.english, a.equipment, unit) })
	}
	if len(under) == 0 {
		return m
	}
	return a.weathers.get(keyOf(unit)+"|"+keyOf(under), m, func() (*rules.Model, error) { return m.Under(under) })
}

// split parts the facts a model depends on into those of the unit and those of
// the weather and the house.
func (a *mind) split(facts map[string]string) (unit, under map[string]string) {
	unit, under = map[string]string{}, map[string]string{}
	for f, v := range facts {
		switch k := a.english.Facts[f]; {
		case k != nil && k.Condition:
			under[f] = v
		case a.uses[f]:
			unit[f] = v
		}
	}
	return unit, under
}

func keyOf(facts map[string]string) string {
	var b strings.Builder
	for _, f := range slices.Sorted(maps.Keys(facts)) {
		b.WriteString(f + "=" + facts[f] + ";")
	}
	return b.String()
}

// Words is the knowledge as it is said in a language; in one nothing is said in, the
// English.
func (a *Agent) Words(language string) *knowledge.Base {
	if in := a.tongues[language]; in != nil {
		return in.base
	}
	return a.english
}

// Equipment is the kind of machine the agent is for.
func (a *Agent) Equipment() string { return a.equipment }

// Knowledge is what the agent knows, as it is said in its language.
func (a *Agent) Knowledge() *knowledge.Base { return a.base }

// LanguageOf tells the language a text is in; "" where it is too short to tell.
func (a *Agent) LanguageOf(text string) string {
	return tells(text, a.reader.Understand(text, understand.Context{}).Language)
}

// Opening is what the agent says before anybody has written.
func (a *Agent) Opening(shop string) string { return a.say("opening", "name", shop) }
