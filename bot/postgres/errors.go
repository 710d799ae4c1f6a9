package postgres

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5/pgconn"

	"proveout/bot"
)

// translate turns the database's error into one with a code and a sentence; doing
// says what was being done. An error that has a code passes through. Class and code
// are those of the PostgreSQL manual, appendix A.
func (d *Database) translate(doing string, err error) error {
	if err == nil {
		return nil
	}
	if e, ok := errors.AsType[*bot.Error](err); ok {
		return e
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	out := &bot.Error{Code: bot.CodeInternal, Text: doing + " the record in " + d.name, Err: err}
	var say string
	switch e, ok := errors.AsType[*pgconn.PgError](err); {
	case !ok, e.Code[:2] == "08", e.Code[:2] == "57": // the connection, or the server is stopping
		out.Code, say = bot.CodeUnreachable, "the database does not answer; nothing was acknowledged, the message is taken when it comes again"
	case e.Code == seen:
		out.Code, say = bot.CodeSeen, "the message is in it already"
	case e.Code == held:
		out.Code, say = bot.CodeLocked, "somebody holds the shop alone, its services write no more until he is done"
	case e.Code == behind, e.Code == "40001", e.Code == "40P01": // two writers in each other's way
		out.Code, say = bot.CodeConflict, "somebody else wrote first"
	case e.Code == "53100":
		out.Code, say = bot.CodeFull, "the database's disk is full; nothing was written, make room and send it again"
	case e.Code == "25006":
		out.Code, say = bot.CodeReadOnly, "the database takes no writes; connect to the one that does"
	case e.Code[:2] == "28", e.Code == "3D000", e.Code == "42501":
		out.Code, say = bot.CodeInvalid, "the database refuses the role or its rights; look at the user, the password and the grants in its address"
	case e.Code == "22021": // a NUL in a name
		out.Code, say = bot.CodeInvalid, "a name holds a character that cannot be kept"
	}
	if say != "" {
		out.Text += ": " + say
	}
	return out
}
