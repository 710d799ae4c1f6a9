package understand

import (
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"proveout/knowledge"
)

// message is one message on its way to an utterance.
type message struct {
	r       *Reader
	ctx     Context
	text    string
	toks    []token
	values  []value
	at      []int32 // value a token belongs to, or -1
	chunks  []chunk
	chunkOf []int32 // chunk a token belongs to, or -1
	matches []match // intents, hazards, machine states
	places  []place
	found   []finding
	out     Utterance
	intents map[string]bool
	in      languages // the languages its words are read in
	wishes  []match   // intents before the longest are chosen
	doubts  []doubted
	sides   []place  // sides of a part named by their rating
	seen    []match  // patterns that tell a state
	bare    []string // intents only bare words gave
	stated  []int    // tokens that facts begin at
	told    [][2]int // stretches that tell what somebody else saw, or another day
	claimed []bool   // tokens of a fact, an aside or a hazard

	guessed []int    // tokens heard as another word by the second reader
	notes   []string // what the second reader did
	passed  []int    // figures taken for talk of something else
}

// Understand reads one message in the light of the talk so far. It never fails:
// what it cannot place it returns as unclear.
func (r *Reader) Understand(text string, ctx Context) Utterance {
	whole := len(text)
	if whole > mostRead {
		text = text[:cutAt(text, mostRead)]
	}
	u := r.blocks(text, ctx)
	if len(ctx.Standing) > 0 && !u.Says() {
		u = r.joined(text, u, ctx)
	}
	u.Unread = whole - len(text)
	u.trim()
	if u.Says() {
		for _, q := range u.Unclear {
			u.Standing = append(u.Standing, Standing{q, text})
		}
	}
	return u
}

// mostRead is how many bytes of a message are read, mostSaid how many readings
// and questions it may give: nobody types more, and what is pasted by the
// megabyte gets an answer as soon as anything else.
const (
	mostRead = 20_000
	mostSaid = 200
)

// trim keeps a long message's utterance small.
func (u *Utterance) trim() {
	u.Readings = u.Readings[:min(len(u.Readings), mostSaid)]
	u.Unclear = u.Unclear[:min(len(u.Unclear), mostSaid)]
}

// blocks reads a text block by block.
func (r *Reader) blocks(text string, ctx Context) Utterance {
	if len(text) <= block {
		return r.read(text, ctx)
	}
	all := r.read("", Context{})
	for text != "" {
		cut := cutAt(text, block)
		all.join(r.read(text[:cut], ctx))
		text, ctx.Asked, ctx.AskedFact, ctx.AskedObservation = text[cut:], "", "", ""
	}
	return all
}

// block is how much of a message is read at a time. Nobody ties a value to a
// place further away, and what is pasted by the megabyte costs no more than its
// length.
const block = 8 << 10

// cutAt finds where a long text may be cut: after a line, a sentence or a word.
func cutAt(text string, most int) int {
	if len(text) <= most {
		return len(text)
	}
	for _, mark := range []string{"\n", ". ", " "} {
		if i := strings.LastIndex(text[:most], mark); i > most/2 {
			return i + len(mark)
		}
	}
	for i := most; i > most-utf8.UTFMax; i-- {
		if utf8.RuneStart(text[i]) {
			return i
		}
	}
	return most
}

// join adds what a later stretch of the message says.
func (u *Utterance) join(v Utterance) {
	u.Readings = append(u.Readings, v.Readings...)
	u.Unclear = append(u.Unclear, v.Unclear...)
	for _, o := range v.Observations {
		if !slices.Contains(u.Observations, o) {
			u.Observations = append(u.Observations, o)
		}
	}
	for _, f := range v.Facts {
		if !slices.Contains(u.Facts, f) {
			u.Facts = append(u.Facts, f)
		}
	}
	u.Intents = merge(u.Intents, v.Intents)
	u.Lacks, u.CannotReach, u.Hazards = merge(u.Lacks, v.Lacks), merge(u.CannotReach, v.CannotReach), merge(u.Hazards, v.Hazards)
	u.Present = append(u.Present, v.Present...)
	u.Wanted = append(u.Wanted, v.Wanted...)
	u.Foreign = u.Foreign || v.Foreign
	u.TakenBack = append(u.TakenBack, v.TakenBack...)
	u.Puzzles = append(u.Puzzles, v.Puzzles...)
	if v.Machine != "" {
		u.Machine = v.Machine
	}
	if u.Language != v.Language && len(v.Readings) >= len(u.Readings) {
		u.Language = v.Language
	}
}

func merge(a, b []string) []string {
	for _, s := range b {
		if !slices.Contains(a, s) {
			a = append(a, s)
		}
	}
	return a
}

// read reads one block.
func (r *Reader) read(text string, ctx Context) Utterance {
	return r.follow(text, ctx).out
}

// follow takes one block all the way, past the second reader too, and keeps what
// was found on it.
func (r *Reader) follow(text string, ctx Context) *message {
	m := r.readAgain(r.first(text, ctx))
	m.doubtForeign()
	return m
}

// first reads a block by grammar and lexicon alone.
func (r *Reader) first(text string, ctx Context) *message {
	m := &message{r: r, ctx: ctx, text: text, intents: map[string]bool{}}
	toks := tokenize(text)
	m.in, m.out.Language = r.speaks(toks)
	m.toks = r.glossed(text, r.spell(toks, m.in), m.in)
	return m.parse()
}

// parse reads the words of a block.
func (m *message) parse() *message {
	m.readNumbers()
	m.readChunks()
	m.general()
	m.readPatterns()
	m.addresses()
	m.wordsForValues()
	m.readTarget()
	m.repeats()
	m.recall()
	m.ratedSides()
	m.readPlaces()
	m.readBesideRating()
	m.align()
	m.across()
	m.observe()
	m.correct()
	m.listedFacts()
	m.answer()
	m.finish()
	return m
}

// finish turns what was found into the utterance.
func (m *message) finish() {
	for i := range m.found {
		m.lendUnit(&m.found[i])
	}
	m.scale()
	for i := range m.found {
		m.reading(&m.found[i])
	}
	m.ask()
	m.unplaced()
	m.unreachable()
	m.puzzle()
	for i := range m.matches {
		if m.matches[i].what == machinePattern {
			m.out.Machine = m.matches[i].id
		}
	}
	if m.answered() || m.intents["close-job"] {
		for _, id := range m.bare {
			delete(m.intents, id)
		}
	}
	m.out.Away = m.intents["away"]
	for i := range m.places {
		if p := &m.places[i]; len(p.ids) > 0 && m.wanted(p) {
			m.out.Wanted = append(m.out.Wanted, p.ids[0])
		}
	}
	for _, in := range intentOrder {
		if m.intents[in] {
			m.out.Intents = append(m.out.Intents, in)
		}
	}
	if m.out.Readings == nil {
		m.out.Readings = []Reading{}
	}
	if m.out.Observations == nil {
		m.out.Observations = []Observation{}
	}
	if m.out.Facts == nil {
		m.out.Facts = []Fact{}
	}
	if m.out.Intents == nil {
		m.out.Intents = []string{}
	}
	if m.out.Unclear == nil {
		m.out.Unclear = []Unclear{}
	}
}

// intentOrder is the order intents are given in, whatever order they were said.
var intentOrder = []string{
	"open-job", "ask-next", "ask-why", "ask-remaining", "ask-how", "cannot-measure", "skip", "correct", "undo",
	"request-senior", "confirm", "override", "ask-status", "report-done", "close-job", "help", "greeting", "thanks",
	"off-topic",
}

// answered tells that the message answers what was asked.
func (m *message) answered() bool {
	for i := range m.out.Readings {
		if m.out.Readings[i].Reading == m.ctx.Asked {
			return true
		}
	}
	for i := range m.out.Observations {
		if m.out.Observations[i].Subject == m.ctx.AskedObservation {
			return true
		}
	}
	return false
}

// unreachable names the readings a person says he cannot take.
func (m *message) unreachable() {
	if !m.intents["cannot-measure"] || len(m.out.Lacks) > 0 {
		return
	}
	for i := range m.places {
		p := &m.places[i]
		for _, id := range append(slices.Clone(p.ids), p.both...) {
			if p.quantity == "" || id.Quantity() == p.quantity {
				m.out.CannotReach = merge(m.out.CannotReach, []string{string(id)})
			}
		}
	}
}

// reading makes a Reading of a finding.
func (m *message) reading(f *finding) {
	v := &m.values[f.value]
	q := m.r.base.Quantities[f.id.Quantity()]
	rd := Reading{Reading: f.id, Approximate: v.approx, Text: m.span(f)}
	if q != nil {
		rd.Unit = q.Unit
	}
	x, low, high, said := m.convert(v, f.id.Quantity())
	rd.Value, rd.Low, rd.High, rd.Said = Value(x), low, high, said
	if q != nil && v.kind == figure && (x < q.Possible[0] || x > q.Possible[1]) {
		rd.Impossible = true
	}
	rd.State = m.stateOf(f)
	if v.use == open {
		v.use = placed
	}
	if v.bounce && f.place >= 0 {
		for _, subject := range slices.Sorted(maps.Keys(m.places[f.place].comp.Bounces)) {
			m.addObservation(subject, m.places[f.place].comp.Bounces[subject])
		}
	}
	m.out.Readings = append(m.out.Readings, rd)
}

// span is the words a reading was read from.
func (m *message) span(f *finding) string {
	v := &m.values[f.value]
	first, last := v.first, v.last
	if f.place >= 0 {
		first, last = min(first, m.places[f.place].first), max(last, m.places[f.place].last)
	}
	if last <= first {
		return ""
	}
	return m.text[m.toks[first].start:m.toks[last-1].end]
}

// stateOf tells the state of the machine a reading belongs to, or "".
func (m *message) stateOf(f *finding) string {
	switch f.id.Quantity() {
	case "resistance", "capacitance":
		return knowledge.DeEnergised
	}
	if m.r.ofTheDay[f.id] {
		return "" // a machine that is off makes no weather
	}
	if f.place >= 0 && m.places[f.place].state != "" {
		return m.places[f.place].state
	}
	if f.place >= 0 && m.places[f.place].comp != nil && m.places[f.place].comp.State != "" && !m.places[f.place].sides && !m.bothCalling(&m.places[f.place]) {
		return m.places[f.place].comp.State
	}
	at := m.values[f.value].first
	state, others := "", 0
	for i := range m.matches {
		x := &m.matches[i]
		if x.what != machinePattern {
			continue
		}
		others++
		if x.first <= at || state == "" && (others == 1 || m.sameSentence(at, x.first)) {
			state = x.id
		}
	}
	if state == "" && f.id == m.ctx.Asked {
		state = m.ctx.AskedState
	}
	if state == knowledge.DeEnergised && f.id.Quantity() == "pressure" {
		return knowledge.Standing // refrigerant minds only whether the machine runs
	}
	return state
}

// bothCalling tells "both gauges at 180 when it runs": a word for both sides tells no
// machine that is off where the sentence says that it runs.
func (m *message) bothCalling(p *place) bool {
	return m.isWord(m.chunks[p.chunk].first, "both") && slices.ContainsFunc(m.matches, func(x match) bool {
		return x.what == machinePattern && x.id == knowledge.Calling && m.sameSentence(p.first, x.first)
	})
}

// sameSentence tells whether nothing ends a sentence between two tokens.
func (m *message) sameSentence(a, b int) bool {
	if a > b {
		a, b = b, a
	}
	for i := a; i < b && i < len(m.toks); i++ {
		if m.endsSentence(i) {
			return false
		}
	}
	return true
}

func (m *message) endsSentence(i int) bool {
	t := m.toks[i]
	// Dots in a row are a pause, not an end.
	if t.text == "." && (m.tok(i-1).text == "." || m.tok(i+1).text == "." && m.tok(i+1).glued) || t.text == "…" {
		return false
	}
	return t.kind == lineToken || t.kind == markToken && (t.text == "." || t.text == "?" || t.text == "!" || t.text == ";")
}

func (m *message) intent(name string) { m.intents[name] = true }

func (m *message) addObservation(subject, state string) {
	o := Observation{subject, state}
	if subject == "" || state == "" || slices.Contains(m.out.Observations, o) {
		return
	}
	m.out.Observations = append(m.out.Observations, o)
}

func (m *message) addFact(fact, value string) {
	for i := range m.out.Facts {
		if m.out.Facts[i].Fact == fact {
			m.out.Facts[i].Value = value
			return
		}
	}
	m.out.Facts = append(m.out.Facts, Fact{fact, value})
}
