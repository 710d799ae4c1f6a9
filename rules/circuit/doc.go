// Package circuit solves linear networks at 60 Hz by complex nodal analysis.
//
// A Network is the wiring: nodes, and elements between them. What each element
// is at the moment (its admittance, a source's volts, a transformer's windings)
// comes in with every solve as a slice of Params, so one Network serves every
// fault and every state of a machine. Nodes held by ideal sources and ground cut
// the wiring into islands that are factorised apart and remembered by key, since
// most faults touch one island only.
//
// Every node leaks to ground through the insulation-leak resistance, so a loose
// end has a potential and no matrix is singular. The complex system is solved as
// the real 2n×2n system by gonum's LU.
//
// Method: modified nodal analysis, Ho, Ruehli, Brennan, IEEE Trans. Circuits and
// Systems 22(6), 1975 (from memory), with ideal grounded sources eliminated.
package circuit
