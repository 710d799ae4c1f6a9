package bot

import "errors"

// Code is what kind of failure an Error is, for machines.
type Code string

// The codes.
const (
	CodeSeen        Code = "seen"        // it is in the record already
	CodeConflict    Code = "conflict"    // somebody else wrote first
	CodeNotFound    Code = "not-found"   // there is no such job or person
	CodeInvalid     Code = "invalid"     // it cannot be what it says
	CodeForbidden   Code = "forbidden"   // it is not this person's to do
	CodeSignedOut   Code = "signed-out"  // nobody is signed in
	CodeLimited     Code = "limited"     // too often; wait
	CodeFull        Code = "full"        // the disk is full
	CodeReadOnly    Code = "read-only"   // the record cannot be written
	CodeLocked      Code = "locked"      // another program holds the record
	CodeDamaged     Code = "damaged"     // the record's file is not sound
	CodeForgotten   Code = "forgotten"   // it was erased on request
	CodeUnreachable Code = "unreachable" // the database does not answer
	CodeClosed      Code = "closed"      // the service has stopped
	CodeInternal    Code = "internal"    // anything else
)

// Error is a failure with a code and a sentence for a person. What lies behind it is
// for the log.
type Error struct {
	Code Code
	Text string
	Err  error
}

// Error says the sentence and what lies behind it.
func (e *Error) Error() string {
	if e.Err == nil {
		return e.Text
	}
	return e.Text + ": " + e.Err.Error()
}

// Unwrap gives what lies behind.
func (e *Error) Unwrap() error { return e.Err }

// CodeOf is an error's code: internal where it has none, empty for no error.
func CodeOf(err error) Code {
	if err == nil {
		return ""
	}
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Code
	}
	return CodeInternal
}
