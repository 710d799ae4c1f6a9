package tagger

import (
	"bytes"
	"crypto/sha256"
	_ "embed" // the weights are part of the binary
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"sync"
)

// The weight file, all numbers little-endian:
//
//	magic "PVTAGGER"
//	uint32 version of the format, of the features
//	uint32 number of tags, of bits that number the rows
//	tags: each a length byte and its name
//	digest of the lexicon: a length byte and hexadecimal digits
//	float32 scale of the weights, first, last and step scores
//	int8 weights, row after row
//	SHA-256 of all before it
const (
	magic       = "PVTAGGER"
	fileVersion = 1
	maxRowBits  = 17
)

//go:embed weights.bin
var embedded []byte

// Embedded is the model shipped in the binary. The error says what is wrong with
// the file and how to mend it.
var Embedded = sync.OnceValues(func() (*Model, error) { return Decode(embedded) })

// mend is what to do about a weight file that cannot be used.
const mend = "run go run ./cmd/proveout-train"

// Encode writes the model as a weight file.
func (m *Model) Encode() []byte {
	var b bytes.Buffer
	b.WriteString(magic)
	put := func(x any) { _ = binary.Write(&b, binary.LittleEndian, x) } // a buffer takes everything
	bits := uint32(0)
	for m.mask>>bits != 0 {
		bits++
	}
	put([]uint32{fileVersion, featureVersion, Tags, bits})
	for t := range Tag(Tags) {
		short(&b, t.String())
	}
	short(&b, m.Digest)
	put(m.scale)
	put(m.first)
	put(m.last)
	put(m.step)
	put(m.rows)
	sum := sha256.Sum256(b.Bytes())
	b.Write(sum[:])
	return b.Bytes()
}

func short(b *bytes.Buffer, s string) {
	b.WriteByte(byte(len(s)))
	b.WriteString(s[:min(len(s), 255)])
}

// Decode reads a weight file. It refuses a damaged one, and one made for other
// features or tags.
func Decode(file []byte) (*Model, error) {
	m, err := decode(file)
	if err != nil {
		return nil, fmt.Errorf("reading the tagger's weights: %w; %s", err, mend)
	}
	return m, nil
}

func decode(file []byte) (*Model, error) {
	if len(file) < len(magic)+sha256.Size || string(file[:len(magic)]) != magic {
		return nil, errors.New("this is no weight file")
	}
	body, sum := file[:len(file)-sha256.Size], file[len(file)-sha256.Size:]
	if want := sha256.Sum256(body); !bytes.Equal(sum, want[:]) {
		return nil, errors.New("the file is damaged, its checksum does not hold")
	}
	r := bytes.NewReader(body[len(magic):])
	var head [4]uint32
	get := func(x any) error { return binary.Read(r, binary.LittleEndian, x) }
	if err := get(&head); err != nil {
		return nil, errors.New("the file ends early")
	}
	if head[0] != fileVersion || head[1] != featureVersion {
		return nil, fmt.Errorf("it is of format %d and features %d, this program reads %d and %d", head[0], head[1], fileVersion, featureVersion)
	}
	if head[2] != Tags || head[3] > maxRowBits {
		return nil, fmt.Errorf("it has %d tags and 2^%d rows, this program has %d tags and at most 2^%d rows", head[2], head[3], Tags, maxRowBits)
	}
	for t := range Tag(Tags) {
		if name, err := shortText(r); err != nil || name != t.String() {
			return nil, fmt.Errorf("tag %d is %q, this program has %q there", t, name, t)
		}
	}
	m := &Model{mask: 1<<head[3] - 1, rows: make([]int8, Tags<<head[3])}
	var err error
	if m.Digest, err = shortText(r); err != nil {
		return nil, errors.New("the file ends early")
	}
	for _, x := range []any{&m.scale, &m.first, &m.last, &m.step, m.rows} {
		if err := get(x); err != nil {
			return nil, errors.New("the file ends early")
		}
	}
	if r.Len() > 0 {
		return nil, fmt.Errorf("%d bytes follow the weights", r.Len())
	}
	if math.IsNaN(float64(m.scale)) || m.scale <= 0 {
		return nil, fmt.Errorf("its scale is %v", m.scale)
	}
	if err := m.finite(); err != nil {
		return nil, err
	}
	m.prepare()
	return m, nil
}

func shortText(r *bytes.Reader) (string, error) {
	n, err := r.ReadByte()
	if err != nil {
		return "", err
	}
	b := make([]byte, n)
	if _, err := r.Read(b); err != nil && n > 0 {
		return "", err
	}
	return string(b), nil
}

// Checksum is the SHA-256 a weight file ends with, in hexadecimal digits.
func Checksum(file []byte) string {
	return hex.EncodeToString(file[max(0, len(file)-sha256.Size):])
}
