// Package target holds a reading against what it should be: a cell of a published
// table in knowledge, or a band, and says on which side the reading lies.
package target
