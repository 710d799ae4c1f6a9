package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"sync"
	"time"

	_ "modernc.org/sqlite" // the driver "sqlite"

	"proveout/bot"
)

var _ bot.Store = (*Store)(nil)

// Options change how a record is opened; the zero value is right for a service.
type Options struct {
	// ReadOnly opens the record beside a service that runs, for looking only.
	ReadOnly bool
	// Patience is how long to wait for another program's write (5 s).
	Patience time.Duration
}

// quickBelow is the size of a file, bytes, up to which every page is looked at
// before it is used; a larger one is checked when it is backed up.
const quickBelow = 32 << 20

// Store is a record in one file. It may be shared between goroutines.
type Store struct {
	path    string
	owner   *sql.DB // holds the record for this process; nil when only looking
	writer  *sql.DB
	conn    *sql.Conn
	readers *sql.DB

	mu      sync.Mutex // guards waiting
	waiting []*request
	writing sync.Mutex // held by the one who commits
	added   statements
	close   sync.Once
	closed  error
}

// Open opens the record at path, makes it where there is none, and takes it for this
// process: a second service on the same record is refused. The error's code is
// CodeDamaged, CodeLocked, CodeReadOnly, CodeFull or CodeInvalid.
func Open(ctx context.Context, path string, o Options) (*Store, error) {
	if o.Patience == 0 {
		o.Patience = 5 * time.Second
	}
	s := &Store{path: path}
	if err := s.open(ctx, o); err != nil {
		_ = s.Close()
		return nil, s.translate("opening", err)
	}
	return s, nil
}

func (s *Store) open(ctx context.Context, o Options) error {
	info, err := os.Stat(s.path)
	switch {
	case errors.Is(err, os.ErrNotExist) && o.ReadOnly:
		return &bot.Error{Code: bot.CodeNotFound, Text: "there is no record at " + s.path + "; name the file the service writes"}
	case err != nil && !errors.Is(err, os.ErrNotExist):
		return err
	case info != nil && info.IsDir():
		return &bot.Error{Code: bot.CodeInvalid, Text: s.path + " is a folder; name a file for the record"}
	}
	if !o.ReadOnly {
		if err := s.own(ctx); err != nil {
			return err
		}
	}
	if s.writer, err = sql.Open("sqlite", dsn(s.path, o)); err != nil {
		return err
	}
	s.writer.SetMaxOpenConns(1)
	if s.conn, err = s.writer.Conn(ctx); err != nil {
		return err
	}
	if info != nil && info.Size() <= quickBelow {
		if err := sound(ctx, s.conn, "quick_check(1)"); err != nil {
			return err
		}
	}
	if !o.ReadOnly {
		if err := migrate(ctx, s.conn); err != nil {
			return err
		}
		if s.added, err = prepare(ctx, s.conn); err != nil {
			return err
		}
	}
	o.ReadOnly = true
	if s.readers, err = sql.Open("sqlite", dsn(s.path, o)); err != nil {
		return err
	}
	s.readers.SetMaxOpenConns(4)
	return s.readers.PingContext(ctx)
}

// own takes the record for this process, by a lock that ends with it.
func (s *Store) own(ctx context.Context) error {
	var err error
	if s.owner, err = sql.Open("sqlite", "file:"+url.PathEscape(s.path+"-owner")+"?_pragma=locking_mode(EXCLUSIVE)&_pragma=busy_timeout(200)"); err != nil {
		return err
	}
	s.owner.SetMaxOpenConns(1)
	s.owner.SetConnMaxLifetime(0)
	_, err = s.owner.ExecContext(ctx, "BEGIN EXCLUSIVE")
	return err
}

// logPages is how long the log beside the file grows before who writes carries it over: with
// SQLite's own 1,000 that was one message in a hundred, which it made the slowest.
const logPages = 16_000

func dsn(path string, o Options) string {
	q := url.Values{"_pragma": {
		fmt.Sprintf("busy_timeout(%d)", o.Patience.Milliseconds()), "journal_mode(WAL)", "synchronous(FULL)",
		"secure_delete(ON)", "foreign_keys(ON)", "cache_size(-16000)", fmt.Sprintf("wal_autocheckpoint(%d)", logPages),
	}}
	q.Set("_txlock", "immediate")
	if o.ReadOnly {
		q.Set("mode", "ro")
		q["_pragma"] = q["_pragma"][:1]
	}
	return "file:" + url.PathEscape(path) + "?" + q.Encode()
}

// sound looks for damage.
func sound(ctx context.Context, c *sql.Conn, check string) error {
	var found string
	if err := c.QueryRowContext(ctx, "PRAGMA "+check).Scan(&found); err != nil {
		return err
	}
	if found != "ok" {
		return &damage{found}
	}
	return nil
}

// damage is what a check of the file has found.
type damage struct{ found string }

func (d *damage) Error() string { return d.found }

// Close lets the record go; what Append has answered is in it. Twice is safe.
func (s *Store) Close() error {
	s.close.Do(func() {
		s.writing.Lock()
		defer s.writing.Unlock()
		var errs []error
		if s.readers != nil {
			errs = append(errs, s.readers.Close())
		}
		if s.added.event != nil { // everything into the one file
			_, err := s.conn.ExecContext(context.Background(), "PRAGMA wal_checkpoint(TRUNCATE)")
			errs = append(errs, err)
		}
		if s.conn != nil {
			errs = append(errs, s.conn.Close())
		}
		for _, db := range []*sql.DB{s.writer, s.owner} {
			if db != nil {
				errs = append(errs, db.Close())
			}
		}
		s.closed = errors.Join(errs...)
	})
	return s.closed
}
