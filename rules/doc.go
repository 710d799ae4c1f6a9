// Package rules is the deterministic fault engine.
//
// A Model is compiled once for a unit: hypotheses (nothing wrong, single faults in
// their degrees, likely pairs), each settled by rules/machine in every state, and
// from that a table of what each hypothesis predicts for every reading and
// observation. Diagnose then weighs the evidence of a job against that table:
// the posterior over faults with its reasons, the one next test worth its
// minutes, and the call once its proof is in hand.
//
// The package's one law: same model and same situation, same diagnosis, byte for
// byte. It reads no clock, draws no random number and starts no goroutine.
//
// Sources: de Kleer and Williams, "Diagnosing multiple faults", Artificial
// Intelligence 32, 1987 (hypotheses as sets of component modes, the next
// measurement by expected entropy); Heckerman, Breese and Rommelse,
// "Decision-theoretic troubleshooting", Communications of the ACM 38(3), 1995
// (observation and repair costs). Both from memory.
package rules
