// Package sms carries text messages between a gateway and the service, over HTTP: a
// webhook for what comes in, one for delivery receipts, and a request for what goes
// out. Which paths, fields, signatures and answers a gateway has stands in a file of
// its own (Gateway), so that any carrier's or aggregator's fits without code.
//
// Its one law: nothing is acknowledged before the service has it in the record, or,
// for a part of a long text, before the part is on the disk.
//
// A text is counted as the network counts it. An answer of ours goes out in at most two
// parts: what must be said is in them, in fewer words where it has to be, and the rest
// waits for "more". What a person wrote goes out whole, as he wrote it.
//
// Nothing here logs a text or a number.
package sms
