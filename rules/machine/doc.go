// Package machine couples the circuits of one unit to what they drive: coils
// decide contacts, contacts decide loads, loads decide pressures, pressures
// decide the safety switches, until it settles.
//
// A Machine is one unit: equipment and facts. Given the modes its components are
// in and the effects on its process, Run settles it in every state a technician
// can bring it to, and each settled phase can be read with a meter. A machine
// that does not settle is an error naming the parts that chase each other.
//
// Protective devices that take minutes to open give two phases: before the trip
// and after it. What a trip leaves open (a blown fuse) stays open in the states
// that follow.
package machine
