// Package understand reads a technician's message: which readings, things seen,
// facts and wishes it holds, and what in it cannot be placed.
//
// Its one law: a value is always a span of the message. The grammar decides what
// a number is, the lexicon (knowledge, by language) what it belongs to, and the
// talk so far settles what the message leaves out. What stays open is returned
// as unclear with its likely meanings, never guessed. A learned tagger, when
// there is one, is a second reader between lexicon and resolver: it may move a
// number from one place to another, and never makes one.
//
// The way of a message: tokens → spelling → numbers → chunks (longest phrase of
// the lexicon) → patterns (intents, facts, asides) → places → alignment of
// values with places → corrections → context. Everything is pure: same message,
// same knowledge, same context, same utterance.
package understand
