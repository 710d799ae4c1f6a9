// Command proveout-train trains the tagger's weights from the lexicon, the shapes
// in shapes.txt and the labelled messages, and writes dialog/tagger/weights.bin.
//
// The same seed, lexicon and messages give the same bytes. It is the only command
// that links spago: the binary technicians run answers from the weights alone.
package main
