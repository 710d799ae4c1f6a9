// Package tagger is a second opinion on a message: a learned tagger that says which
// slot each word fills (a point, a value, a number that is no reading …)
// and how sure it is. It knows words by their letters and neighbours, so it has an
// opinion on words no lexicon lists.
//
// Its one law: it points at words and never makes one. A value is read by the
// grammar, whatever the tagger says.
//
// The weights are trained offline by `go run ./cmd/proveout-train`, committed as
// weights.bin and embedded. Answering is plain arithmetic over slices: hashed
// features into int8 rows, a linear-chain conditional random field over them, the
// likeliest tags by Viterbi and the certainty of each slot by forward-backward.
package tagger
