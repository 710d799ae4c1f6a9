package score

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"proveout/dialog/understand"
	"proveout/knowledge"
)

// Case is one labelled message.
type Case struct {
	Text string `json:"text"`
	// Asked is a reading, an observation's subject or a fact; Earlier the record.
	Asked   string               `json:"asked,omitempty"`
	Earlier []understand.Reading `json:"earlier,omitempty"`
	Facts   map[string]string    `json:"facts,omitempty"`
	Family  string               `json:"family,omitempty"`
	Part    string               `json:"part,omitempty"`
	Want    Want                 `json:"want"`
}

// Want is what a message should be read as. State and Approximate of a reading
// are not compared when the label leaves them out.
type Want struct {
	Readings     []understand.Reading     `json:"readings"`
	Observations []understand.Observation `json:"observations"`
	Facts        []understand.Fact        `json:"facts"`
	Intents      []string                 `json:"intents"`
	Unclear      []string                 `json:"unclear"`
}

// Read reads labelled messages, one a line. Errors name the line.
func Read(r io.Reader) ([]Case, error) {
	var cases []Case
	s := bufio.NewScanner(r)
	s.Buffer(nil, 1<<22)
	for n := 1; s.Scan(); n++ {
		if strings.TrimSpace(s.Text()) == "" {
			continue
		}
		var c Case
		if err := json.Unmarshal(s.Bytes(), &c); err != nil {
			return nil, fmt.Errorf("reading labelled message on line %d: %w; write one JSON object a line with text and want", n, err)
		}
		cases = append(cases, c)
	}
	if err := s.Err(); err != nil {
		return nil, fmt.Errorf("reading labelled messages: %w", err)
	}
	return cases, nil
}

// Tally counts what was right, missed and found without being there.
type Tally struct{ Right, Missed, Extra int }

// F1 is the harmonic mean of precision and recall, 1 when there was nothing to find.
func (t Tally) F1() float64 {
	if t.Right+t.Missed+t.Extra == 0 {
		return 1
	}
	return 2 * float64(t.Right) / float64(2*t.Right+t.Missed+t.Extra)
}

// Recall is the share found of what was there.
func (t Tally) Recall() float64 {
	if t.Right+t.Missed == 0 {
		return 1
	}
	return float64(t.Right) / float64(t.Right+t.Missed)
}

// Report is the score over many messages.
type Report struct {
	Messages                                        int
	Readings, Observations, Facts, Intents, Unclear Tally
	// Values are readings found at the right point; WrongValues those with another
	// value; Invented the numbers that stand nowhere in the message.
	Values, WrongValues, Invented int
	States                        Tally // machine states, where the label gives one
	Misses                        []Miss
}

// Miss is a message not read as labelled.
type Miss struct {
	Case Case
	Got  understand.Utterance
	Why  []string
}

// Run reads every message and scores it.
func Run(r *understand.Reader, cases []Case) Report {
	rep := Report{Messages: len(cases)}
	for _, c := range cases {
		got := r.Understand(c.Text, c.Context())
		if why := rep.add(c, got); len(why) > 0 {
			rep.Misses = append(rep.Misses, Miss{c, got, why})
		}
	}
	return rep
}

// Context is what the talk lends to the message. What was asked by a name alone
// is a subject that is seen or a fact; the reader uses the one that exists.
func (c Case) Context() understand.Context {
	ctx := understand.Context{Facts: c.Facts, Earlier: c.Earlier}
	if strings.Contains(c.Asked, "/") {
		ctx.Asked = knowledge.ReadingID(c.Asked)
	} else {
		ctx.AskedObservation, ctx.AskedFact = c.Asked, c.Asked
	}
	return ctx
}

func (rep *Report) add(c Case, got understand.Utterance) []string {
	why := rep.readings(c, got.Readings)
	why = append(why, count(&rep.Observations, c.Want.Observations, got.Observations)...)
	why = append(why, count(&rep.Facts, c.Want.Facts, got.Facts)...)
	why = append(why, count(&rep.Intents, c.Want.Intents, got.Intents)...)
	var unclear []string
	for _, u := range got.Unclear {
		unclear = append(unclear, strings.Fields(u.Text + " ")[0])
	}
	var want []string
	for _, u := range c.Want.Unclear {
		want = append(want, strings.Fields(u + " ")[0])
	}
	return append(why, count(&rep.Unclear, want, unclear)...)
}

func (rep *Report) readings(c Case, got []understand.Reading) []string {
	var why []string
	left := slices.Clone(got)
	for _, w := range c.Want.Readings {
		i := slices.IndexFunc(left, func(g understand.Reading) bool {
			return g.Reading == w.Reading && same(float64(g.Value), float64(w.Value))
		})
		if i < 0 {
			i = slices.IndexFunc(left, func(g understand.Reading) bool { return g.Reading == w.Reading })
			rep.Readings.Missed++
			why = append(why, fmt.Sprintf("missed %s = %v", w.Reading, w.Value))
			if i >= 0 {
				rep.Values, rep.WrongValues = rep.Values+1, rep.WrongValues+1
			}
			continue
		}
		rep.Readings.Right, rep.Values = rep.Readings.Right+1, rep.Values+1
		if w.State != "" {
			if left[i].State == w.State {
				rep.States.Right++
			} else {
				rep.States.Missed++
				why = append(why, fmt.Sprintf("state of %s: %q", w.Reading, left[i].State))
			}
		}
		if left[i].Approximate != w.Approximate {
			why = append(why, fmt.Sprintf("approximate of %s: %v", w.Reading, left[i].Approximate))
		}
		left = slices.Delete(left, i, i+1)
	}
	for _, g := range left {
		rep.Readings.Extra++
		why = append(why, fmt.Sprintf("extra %s = %v", g.Reading, g.Value))
	}
	for _, g := range got {
		if g.Text == "" || !strings.Contains(c.Text, g.Text) {
			rep.Invented++
			why = append(why, fmt.Sprintf("invented %v", g.Value))
		}
	}
	return why
}

func same(a, b float64) bool {
	if math.IsInf(a, 1) || math.IsInf(b, 1) {
		return math.IsInf(a, 1) && math.IsInf(b, 1)
	}
	return math.Abs(a-b) <= 0.005*math.Max(math.Abs(b), 1e-9)+1e-12
}

func count[T comparable](t *Tally, want, got []T) []string {
	var why []string
	left := slices.Clone(got)
	for _, w := range want {
		if i := slices.Index(left, w); i >= 0 {
			t.Right++
			left = slices.Delete(left, i, i+1)
			continue
		}
		t.Missed++
		why = append(why, fmt.Sprintf("missed %v", w))
	}
	for _, g := range left {
		t.Extra++
		why = append(why, fmt.Sprintf("extra %v", g))
	}
	return why
}

// String is the report in a few lines.
func (rep Report) String() string {
	var b strings.Builder
	line := func(name string, t Tally) {
		fmt.Fprintf(&b, "%-13s F1 %.3f  recall %.3f  (right %d, missed %d, extra %d)\n", name, t.F1(), t.Recall(), t.Right, t.Missed, t.Extra)
	}
	fmt.Fprintf(&b, "%d messages, %d not read as labelled\n", rep.Messages, len(rep.Misses))
	line("readings", rep.Readings)
	line("observations", rep.Observations)
	line("facts", rep.Facts)
	line("intents", rep.Intents)
	line("unclear", rep.Unclear)
	fmt.Fprintf(&b, "wrong values %d of %d, invented numbers %d\n", rep.WrongValues, rep.Values, rep.Invented)
	return b.String()
}
