package web

import (
	"context"

	"proveout/bot"
	"proveout/bot/ladder"
)

// Service is the desk as the pages need it.
type Service interface {
	bot.Receiver
	// Shop is the name people read, Members are its people.
	Shop() string
	Members() []bot.Member
	Colleague(id string) (bot.Member, bool)
	// Languages are those people are spoken to in, Reads the one of a person, Words what
	// is said in it.
	Languages() []string
	Reads(id string) string
	Words(language string) bot.Phrases
	// Board and JobView are what a person sees of the open jobs, and of one.
	Board(viewer string) (*bot.Board, error)
	JobView(ctx context.Context, viewer, job string) (*bot.JobView, error)
	// JobIn is the job a person has opened under a name.
	JobIn(ctx context.Context, viewer, thread string) (string, error)
	// Drawing is a job's circuit as it stands.
	Drawing(ctx context.Context, viewer, job string) (ladder.Drawing, error)
	// Handbook is what is known, Wiring a drawing of a unit's.
	Handbook(language string) *bot.Handbook
	// OwnKnowledge is what of it is the shop's own.
	OwnKnowledge() *bot.OwnKnowledge
	Wiring(language, equipment string) (svg string, err error)
	// Search finds jobs a person may see, open and closed.
	Search(ctx context.Context, viewer, text string) ([]bot.Found, error)
	// Changes tells when one of them is to be made anew.
	Changes(ctx context.Context, viewer, job string) (<-chan struct{}, error)
}
