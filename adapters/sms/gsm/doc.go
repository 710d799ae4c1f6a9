// Package gsm counts a text as the mobile network does: in septets of the default
// alphabet, or in 16-bit units where a character is not in it, and in the parts a long
// one is sent as.
//
// Its one law: a character is never split between two parts, neither one of the
// extension table, which takes two septets, nor one of two 16-bit units.
//
// The alphabet is that of 3GPP TS 23.038, clause 6.2.1, its extension table clause
// 6.2.1.1; that a part carries 140 octets and one of several 6 fewer, for the header
// that numbers it, is 3GPP TS 23.040, clause 9.2.3.24.1 (both from memory; the tables
// are compared with another program's in the tests). The national shift tables, which
// hold the Spanish accents, are left alone: few networks carry them.
package gsm
