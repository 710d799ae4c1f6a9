package signin

import (
	"context"
	"time"
)

// Pass is a right to come in: a code that was sent, once, or a session, until it ends.
type Pass struct {
	// ID names the pass: the hash of what its holder's browser keeps.
	ID     string
	Person string // by id
	// Code is the hash of the code that goes with it, under Salt; nil for a session.
	Code, Salt []byte
	// Device is what the holder's browser calls itself.
	Device            string
	Made, Used, Until time.Time
	Uses              int // for a code, the tries
}

// Store keeps passes. Its errors carry the codes of a record.
type Store interface {
	// PutPass adds a pass and forgets those whose time was over when it was made.
	PutPass(ctx context.Context, p Pass) error
	// Pass gives a pass by its id. CodeNotFound.
	Pass(ctx context.Context, id string) (Pass, error)
	// UsePass counts a use of a pass, so that of many at once each has its own number,
	// and gives it with that use. CodeNotFound.
	UsePass(ctx context.Context, id string, at time.Time) (Pass, error)
	// PassesOf lists a person's passes, the newest first.
	PassesOf(ctx context.Context, person string) ([]Pass, error)
	// DropPass takes a pass away; of many at once one does. CodeNotFound for the others.
	DropPass(ctx context.Context, id string) error
}
