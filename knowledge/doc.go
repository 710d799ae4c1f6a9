// Package knowledge is the trade as data: equipment, circuits, faults,
// measurements, cautions, figures, and the ways of saying them.
//
// It is read from YAML, embedded in the binary and overlaid item by item from a
// shop's own folder. Its one law: a trade constant lives here, with its source,
// and never in Go. Loading is strict: every error names file, line and column,
// what is wrong and how to mend it, and all errors are reported at once.
//
// The package knows nobody else in the house.
package knowledge
