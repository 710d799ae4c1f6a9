// Package report shows a job for people and for the file: what was found, by what
// proof, who confirmed it, what was done and proven after, and everything that was
// said. It is made of the record alone.
package report
