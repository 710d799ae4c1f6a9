// Package score measures how well messages are understood against labels written
// by hand: one JSON object a line with the message, what was asked, and what a
// senior technician reads in it.
//
// Its one law: a number counted as invented is one that stands nowhere in the
// message, whatever the label says.
package score
