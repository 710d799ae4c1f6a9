package postgres

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"proveout/bot"
)

var _ bot.Shared = (*Store)(nil)

// Database holds the records of many shops. It may be shared between goroutines.
type Database struct {
	// Clock is this machine's; time.Now where it is nil. It is set before a shop is
	// opened.
	Clock func() time.Time
	pool  *pgxpool.Pool
	name  string // for messages; without a password
}

// together is how many connections there are at most, unless the address says: writers
// that wait for the disk at once wait once.
const together = 16

// answering is how long the database may take to let somebody in, or to write an entry:
// one that is cut off says nothing.
const answering = 10 * time.Second

// Open connects to the database a URL names and takes its schema to the newest. The
// role must be bound by row security: a superuser is refused. The error's code is
// CodeInvalid, CodeUnreachable or CodeInternal.
func Open(ctx context.Context, url string) (*Database, error) {
	c, err := pgxpool.ParseConfig(url)
	if err != nil {
		// The library's error may quote the URL, which may hold a password.
		return nil, &bot.Error{Code: bot.CodeInvalid, Text: "the address of the database cannot be read; write it as postgres://user@host/database"}
	}
	watched(c.ConnConfig)
	if c.ConnConfig.ConnectTimeout == 0 {
		c.ConnConfig.ConnectTimeout = answering
	}
	if !strings.Contains(url, "pool_max_conns") {
		c.MaxConns = together
	}
	d := &Database{name: fmt.Sprintf("%s on %s", c.ConnConfig.Database, c.ConnConfig.Host)}
	if d.pool, err = pgxpool.NewWithConfig(ctx, c); err != nil {
		return nil, d.translate("opening", err)
	}
	if err := d.ready(ctx); err != nil {
		d.pool.Close()
		return nil, d.translate("opening", err)
	}
	return d, nil
}

// ready takes the schema to the newest and looks whether the walls between shops
// stand for this role.
func (d *Database) ready(ctx context.Context) error {
	c, err := d.pool.Acquire(ctx)
	if err != nil {
		return err
	}
	defer c.Release()
	var role string
	var unbound bool
	if err := c.QueryRow(ctx, "SELECT rolname, rolsuper OR rolbypassrls FROM pg_roles WHERE rolname = current_user").Scan(&role, &unbound); err != nil {
		return err
	}
	if unbound {
		return &bot.Error{Code: bot.CodeInvalid, Text: "the role " + role + " is not bound by row security, so shops could see each other; connect as one that is no superuser: CREATE ROLE proveout LOGIN"}
	}
	return migrate(ctx, c.Conn())
}

// Close lets the database go; what Append has answered is in it.
func (d *Database) Close() { d.pool.Close() }

// Shop is the record of one shop, for looking only, whoever holds it.
func (d *Database) Shop(name string) *Store {
	return &Store{Database: d, shop: name, woken: make(chan struct{}, 1), wrote: make(chan struct{}, 1), lost: make(chan error, 1)}
}

// Store is the record of one shop. It may be shared between goroutines.
type Store struct {
	*Database
	shop   string
	held   *pgx.Conn               // nil when only looking
	alone  bool                    // no service answers for the shop meanwhile
	number int64                   // of this process among those that held the shop
	shown  atomic.Pointer[reading] // the database's clock, when it last had to be looked at

	woken chan struct{} // there may be something to follow or to take
	wrote chan struct{} // others have to be told
	lost  chan error    // why this process must not go on

	mu   sync.Mutex
	seen string // the snapshot everything visible in was followed
}

// inShop makes the statements that follow in the same transaction those of the shop.
const inShop = "SELECT set_config('proveout.shop', $1, true)"

// query asks one thing of the shop's rows. The batch is a transaction and one way to
// the database and back.
func (s *Store) query(ctx context.Context, take func(pgx.Rows) error, sql string, args ...any) error {
	b := &pgx.Batch{}
	b.Queue(inShop, s.shop)
	b.Queue(sql, args...)
	r := s.pool.SendBatch(ctx, b)
	_, err := r.Exec()
	if err == nil {
		var rows pgx.Rows
		if rows, err = r.Query(); err == nil {
			for rows.Next() && err == nil {
				err = take(rows)
			}
			rows.Close()
			if err == nil {
				err = rows.Err()
			}
		}
	}
	if closed := r.Close(); err == nil {
		err = closed
	}
	return err
}

// What a statement of ours refuses a transaction with; see the schema.
const (
	seen   = "PV001"
	behind = "PV002"
	held   = "PV003"
)

// writing begins a batch that writes, which the database does as one transaction and in
// one way there and back.
func (s *Store) writing() *pgx.Batch {
	b := &pgx.Batch{}
	b.Queue(inShop, s.shop)
	if !s.alone {
		// One who lost his hold without noticing writes no more when somebody has the shop
		// alone, and who wants it alone waits for what is being written.
		b.Queue("SELECT CASE WHEN NOT pg_try_advisory_xact_lock_shared("+shopLock+") THEN refuse('"+held+"') END", s.shop)
	}
	return b
}

// mayWrite says whether a transaction may be begun. Once begun it is finished, whether or
// not somebody still waits for it.
func (s *Store) mayWrite(ctx context.Context) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if s.held == nil {
		return &bot.Error{Code: bot.CodeReadOnly, Text: "the record is open for reading only"}
	}
	return nil
}

// write sends what writing began.
func (s *Store) write(ctx context.Context, b *pgx.Batch) error {
	if err := s.mayWrite(ctx); err != nil {
		return err
	}
	ctx, cancel := answered(ctx, answering)
	defer cancel()
	return unanswered(ctx, s.pool.SendBatch(ctx, b).Close()) // the first error, a refusal before what it led to
}

// answered is a context of what is finished whether or not somebody still waits for it, but
// for a database that does not answer.
func answered(ctx context.Context, patience time.Duration) (context.Context, context.CancelFunc) {
	return context.WithTimeout(context.WithoutCancel(ctx), patience)
}

// unanswered is the error of what was given up because no answer came.
func unanswered(ctx context.Context, err error) error {
	if err != nil && ctx.Err() != nil {
		return &bot.Error{Code: bot.CodeUnreachable, Text: "no answer came from the database in time; nothing was acknowledged, the message is taken when it comes again", Err: err}
	}
	return err
}

// transaction does what is written together in several ways there and back.
func (s *Store) transaction(ctx context.Context, do func(context.Context, pgx.Tx) error) error {
	return s.within(ctx, longest, do)
}

func (s *Store) within(ctx context.Context, patience time.Duration, do func(context.Context, pgx.Tx) error) error {
	if err := s.mayWrite(ctx); err != nil {
		return err
	}
	ctx, cancel := answered(ctx, patience)
	defer cancel()
	return unanswered(ctx, pgx.BeginFunc(ctx, s.pool, func(tx pgx.Tx) error {
		if err := tx.SendBatch(ctx, s.writing()).Close(); err != nil {
			return err
		}
		return do(ctx, tx)
	}))
}

// longest is how long what is written in several ways there and back may take: a year's
// jobs are erased in one.
const longest = 5 * time.Minute
