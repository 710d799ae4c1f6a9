// Package electric is the arithmetic of the electrical readings: capacitance under
// load, winding sums, leakage to ground, supply and its balance, transformer load,
// amps against the plate.
//
// Units are V, A, ohm (+Inf where the meter shows OL), µF, VA, Hz; shares are per
// cent. What a reading is held against comes from the machine's plate or marking, and
// where there is none from the knowledge's limits (Checks).
package electric
