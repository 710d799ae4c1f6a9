// Package sqlite keeps the record in one SQLite file: write-ahead log, every commit
// on the disk before it is answered.
//
// Appends that arrive while another is being written are committed together. Its one
// law: an entry is in the file whole or not at all, and a key that is in it changes
// nothing again.
package sqlite
