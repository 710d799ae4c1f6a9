package tagger

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"proveout/knowledge"
)

// signed puts a checksum that holds on a changed file.
func signed(body []byte) []byte {
	sum := sha256.Sum256(body)
	return append(slices.Clone(body), sum[:]...)
}

func TestAFileThatCannotBeUsedIsRefusedWithTheMend(t *testing.T) {
	t.Parallel()
	good := random(t, 1, 1).Encode()
	body := good[:len(good)-sha256.Size]
	change := func(at int, x uint32) []byte {
		b := slices.Clone(body)
		binary.LittleEndian.PutUint32(b[at:], x)
		return signed(b)
	}
	scale := bytes.Index(body, []byte("\x04none")) + 5
	for name, c := range map[string]struct {
		file []byte
		says string
	}{
		"empty":             {nil, "no weight file"},
		"another file":      {append([]byte("NOTAGGER"), good[8:]...), "no weight file"},
		"one bit turned":    {func() []byte { b := slices.Clone(good); b[900] ^= 1; return b }(), "checksum does not hold"},
		"cut short":         {good[:len(good)-40], "checksum does not hold"},
		"cut and signed":    {signed(body[:len(body)-1]), "ends early"},
		"head only":         {signed(body[:12]), "ends early"},
		"longer and signed": {signed(append(slices.Clone(body), 0, 0)), "2 bytes follow"},
		"another format":    {change(8, 9), "of format 9"},
		"other features":    {change(12, 99), "features 99"},
		"other tags":        {change(16, 3), "3 tags"},
		"too many rows":     {change(20, 30), "2^30 rows"},
		"renamed tag":       {func() []byte { b := slices.Clone(body); b[27] = 'X'; return signed(b) }(), "this program has"},
		"no scale":          {change(scale, math.Float32bits(0)), "scale is 0"},
		"endless score":     {change(scale+4, math.Float32bits(float32(math.Inf(1)))), "a score is +Inf"},
	} {
		_, err := Decode(c.file)
		require.ErrorContains(t, err, c.says, name)
		require.ErrorContains(t, err, "run go run ./cmd/proveout-train", name)
	}
}

func TestAFileReadIsTheFileWritten(t *testing.T) {
	t.Parallel()
	for _, m := range []*Model{random(t, 2, 5), embeddedModel(t)} {
		file := m.Encode()
		again, err := Decode(file)
		require.NoError(t, err)
		require.True(t, bytes.Equal(file, again.Encode()))
		repacked, err := New(again.Weights(), again.Digest)
		require.NoError(t, err)
		require.True(t, bytes.Equal(file, repacked.Encode()))
	}
}

func TestWeightsNobodyCanPackAreRefused(t *testing.T) {
	t.Parallel()
	_, err := New(&Weights{Rows: make([][Tags]float32, 3)}, "")
	require.ErrorContains(t, err, "power of two")
	_, err = New(&Weights{}, "")
	require.ErrorContains(t, err, "power of two")
	w := &Weights{Rows: make([][Tags]float32, 2)}
	w.Last[3] = float32(math.NaN())
	_, err = New(w, "")
	require.ErrorContains(t, err, "NaN")
}

// The weights in the binary fit in it and are trained for what it knows.
func TestTheEmbeddedWeightsAreSmallAndNotStale(t *testing.T) {
	t.Parallel()
	require.LessOrEqual(t, len(embedded), 3<<20)
	base, err := knowledge.Load(knowledge.Embedded())
	require.NoError(t, err)
	require.NoError(t, embeddedModel(t).Check(base))
}

func TestANewKindOfThingMakesWeightsStale(t *testing.T) {
	t.Parallel()
	m := embeddedModel(t)
	fresh := func() *knowledge.Base {
		base, err := knowledge.Load(knowledge.Embedded())
		require.NoError(t, err)
		return base
	}
	base := fresh()
	base.Quantities["humidity"] = &knowledge.Quantity{Name: "humidity"}
	err := m.Check(base)
	require.ErrorContains(t, err, "stale")
	require.ErrorContains(t, err, "run go run ./cmd/proveout-train")
	base = fresh()
	base.Quantities["voltage"].Units = base.Quantities["voltage"].Units[1:]
	require.Error(t, m.Check(base))

	// One more word for a point is learned without training.
	base = fresh()
	for _, p := range base.Lexicon.Parts {
		for _, c := range p.Components {
			c.Words = append(c.Words, "gizmo")
		}
	}
	require.NoError(t, m.Check(base))
}

func FuzzDecode(f *testing.F) {
	good := random(f, 1, 1).Encode()
	f.Add(good[:len(good)-sha256.Size])
	f.Add([]byte(magic))
	f.Fuzz(func(t *testing.T, body []byte) {
		m, err := Decode(signed(body))
		if err == nil {
			words := split("24 at the coil")
			wellFormed(t, words, m.Tag(words, nil))
		}
	})
}
