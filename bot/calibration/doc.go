// Package calibration compares the probabilities the agent gave with the causes that
// were confirmed: of what it called 90 % likely, nine in ten should have been it.
package calibration
