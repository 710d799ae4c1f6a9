package main

import (
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/dialog/understand"
	"proveout/knowledge"
)

// testBase holds one thing of each kind that can be asked for, and a subject that
// is an observation and a fact at once.
func testBase() *knowledge.Base {
	return &knowledge.Base{
		Measurements: map[knowledge.ReadingID]*knowledge.Measurement{"voltage/contactor-coil": {}},
		Observations: map[string]*knowledge.Observation{"blower": {}, "float-switch": {}},
		Facts:        map[string]*knowledge.Fact{"refrigerant": {}, "float-switch": {}},
	}
}

func TestMessageReader(t *testing.T) {
	t.Parallel()
	none := map[string]string{}
	cases := map[string]struct {
		line string
		want message
	}{
		"plain text is the message":         {`24 at the yellow`, message{text: "24 at the yellow"}},
		"an empty line is an empty message": {``, message{}},
		"a quoted text is plain text":       {`"24"`, message{text: `"24"`}},
		"bytes that are no text are kept":   {"\xff\x00", message{text: "\xff\x00"}},
		"text alone": {
			`{"text": "hi"}`,
			message{text: "hi", context: understand.Context{Facts: none}},
		},
		"blanks before the object do not matter": {
			` 	{"text": ""}`,
			message{context: understand.Context{Facts: none}},
		},
		"an id with a slash is a reading": {
			`{"text": "0", "asked": "voltage/contactor-coil"}`,
			message{text: "0", context: understand.Context{Asked: "voltage/contactor-coil", Facts: none}},
		},
		"an id of a subject is an observation": {
			`{"text": "off", "asked": "blower"}`,
			message{text: "off", context: understand.Context{AskedObservation: "blower", Facts: none}},
		},
		"an id of a fact is a fact": {
			`{"text": "410", "asked": "refrigerant"}`,
			message{text: "410", context: understand.Context{AskedFact: "refrigerant", Facts: none}},
		},
		"an id that is both is the observation": {
			`{"text": "tripped", "asked": "float-switch"}`,
			message{text: "tripped", context: understand.Context{AskedObservation: "float-switch", Facts: none}},
		},
		"an object says which of the two": {
			`{"text": "yes", "asked": {"fact": "float-switch", "why": "…"}}`,
			message{text: "yes", context: understand.Context{AskedFact: "float-switch", Facts: none}},
		},
		"an object may name the machine's state": {
			`{"text": "0", "asked": {"reading": "voltage/contactor-coil", "state": "standing"}}`,
			message{text: "0", context: understand.Context{Asked: "voltage/contactor-coil", AskedState: "standing", Facts: none}},
		},
		"null is nothing asked": {
			`{"text": "0", "asked": null, "facts": null}`,
			message{text: "0", context: understand.Context{Facts: none}},
		},
		"facts are text or numbers": {
			`{"text": "", "facts": {"refrigerant": "R-410A", "tonnage": 3.5}}`,
			message{context: understand.Context{Facts: map[string]string{"refrigerant": "R-410A", "tonnage": "3.5"}}},
		},
		"a key nobody knows is passed over": {
			`{"text": "hi", "id": 7}`,
			message{text: "hi", context: understand.Context{Facts: none}},
		},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			got, err := messageReader{base: testBase()}.read([]byte(c.line))
			require.NoError(t, err)
			require.Equal(t, c.want, got)
		})
	}
}

func TestMessageReaderNamesTheMistake(t *testing.T) {
	t.Parallel()
	cases := map[string]struct{ line, says string }{
		"broken JSON":                    {`{"text": "0"`, "not a JSON object"},
		"two objects":                    {`{"text": "0"} {"text": "1"}`, "one object a line"},
		"no text":                        {`{"asked": "blower"}`, `no "text"`},
		"text of another kind":           {`{"text": 24}`, "text"},
		"an unknown reading":             {`{"text": "0", "asked": "voltage/nowhere"}`, "voltage/nowhere"},
		"an unknown subject":             {`{"text": "0", "asked": "toaster"}`, "toaster"},
		"an unknown fact":                {`{"text": "0", "asked": {"fact": "toaster"}}`, "toaster"},
		"asked of another kind":          {`{"text": "0", "asked": 7}`, "asked"},
		"a fact neither text nor number": {`{"text": "0", "facts": {"tonnage": [3]}}`, "tonnage"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := messageReader{base: testBase()}.read([]byte(c.line))
			require.ErrorContains(t, err, c.says)
		})
	}
}

// FuzzMessageReaderNeverPanics holds the law that any line gives a message or an
// error, and that a line that does not open with a brace is its own text.
func FuzzMessageReaderNeverPanics(f *testing.F) {
	f.Add([]byte(`{"text": "0", "asked": "voltage/contactor-coil", "facts": {"tonnage": 3}}`))
	f.Add([]byte(`24 at the yellow`))
	f.Add([]byte("{\xff"))
	r := messageReader{base: testBase()}
	f.Fuzz(func(t *testing.T, line []byte) {
		m, err := r.read(line)
		if err == nil && (len(line) == 0 || line[0] != '{' && line[0] != ' ' && line[0] != '\t') {
			require.Equal(t, string(line), m.text)
		}
	})
}
