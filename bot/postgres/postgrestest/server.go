// Package postgrestest runs a PostgreSQL server of its own for tests, reached by a
// socket in a folder that goes with it.
package postgrestest

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// ErrMissing says that PostgreSQL is not installed here.
var ErrMissing = errors.New("PostgreSQL is not installed; install the Debian package postgresql")

// Server is a running server.
type Server struct {
	dir, bin string
	who      *syscall.Credential
	process  *exec.Cmd
	log      *os.File
	made     atomic.Int64
}

// Start makes a server and waits until it answers. ErrMissing where there is none.
func Start(ctx context.Context) (*Server, error) {
	bin, err := programs()
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp("", "pg")
	if err != nil {
		return nil, err
	}
	s := &Server{dir: dir, bin: bin}
	if err := s.owned(); err != nil {
		return nil, errors.Join(err, s.Stop())
	}
	init := s.command(ctx, "initdb", "--pgdata", s.data(), "--username", "root", "--auth", "trust", "--encoding", "UTF8", "--locale", "C.UTF-8", "--no-sync")
	if out, err := init.CombinedOutput(); err != nil {
		return nil, errors.Join(fmt.Errorf("making a database: %w\n%s", err, out), s.Stop())
	}
	if err := s.Run(ctx); err != nil {
		return nil, errors.Join(err, s.Stop())
	}
	return s, nil
}

// Installed says whether there is a server to start.
func Installed() bool {
	_, err := programs()
	return err == nil
}

// programs finds the folder of the server's programs; Debian keeps them out of PATH.
func programs() (string, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil {
		return "", err
	}
	if len(found) > 0 {
		slices.Sort(found)
		return filepath.Dir(found[len(found)-1]), nil
	}
	at, err := exec.LookPath("initdb")
	if err != nil {
		return "", ErrMissing
	}
	return filepath.Dir(at), nil
}

// owned gives the folder to the account the server runs under: it refuses to be root.
func (s *Server) owned() error {
	if os.Geteuid() != 0 {
		return nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return fmt.Errorf("%w: %w", ErrMissing, err)
	}
	uid, err := strconv.ParseUint(u.Uid, 10, 32)
	if err != nil {
		return err
	}
	gid, err := strconv.ParseUint(u.Gid, 10, 32)
	if err != nil {
		return err
	}
	s.who = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return os.Chown(s.dir, int(uid), int(gid))
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

// command is one of the server's programs, which does not outlive the test.
func (s *Server) command(ctx context.Context, name string, args ...string) *exec.Cmd {
	c := exec.CommandContext(ctx, filepath.Join(s.bin, name), args...)
	c.Dir = s.dir
	c.SysProcAttr = &syscall.SysProcAttr{Credential: s.who, Pdeathsig: syscall.SIGKILL}
	return c
}

// Run starts the server where it does not run and waits until it answers.
func (s *Server) Run(ctx context.Context) error {
	var err error
	if s.log, err = os.OpenFile(filepath.Join(s.dir, "log"), os.O_CREATE|os.O_APPEND|os.O_WRONLY, 0o600); err != nil {
		return err
	}
	s.process = s.command(context.WithoutCancel(ctx), "postgres", "-D", s.data(), "-k", s.dir, "-c", "listen_addresses=", "-c", "max_connections=200")
	s.process.Stdout, s.process.Stderr = s.log, s.log
	if err := s.process.Start(); err != nil {
		return err
	}
	for {
		c, err := pgx.Connect(ctx, s.url("root", "postgres"))
		if err == nil {
			return c.Close(ctx)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("waiting for the server: %w", errors.Join(ctx.Err(), err))
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// Kill ends the server as a power cut would.
func (s *Server) Kill() error {
	if s.process == nil {
		return nil
	}
	err := s.process.Process.Signal(syscall.SIGQUIT) // immediate shutdown: children too
	_ = s.process.Wait()                             // it ended by a signal
	s.process = nil
	return errors.Join(err, s.log.Close())
}

// Stop ends the server and takes its folder away.
func (s *Server) Stop() error { return errors.Join(s.Kill(), os.RemoveAll(s.dir)) }

func (s *Server) url(role, database string) string {
	return fmt.Sprintf("postgres://%s@/%s?host=%s", role, database, s.dir)
}

// Database makes an empty database and gives its address for a role that row security
// binds.
func (s *Server) Database(ctx context.Context) (string, error) {
	name := "t" + strconv.FormatInt(s.made.Add(1), 10)
	c, err := pgx.Connect(ctx, s.url("root", "postgres"))
	if err != nil {
		return "", err
	}
	defer func() { _ = c.Close(ctx) }()
	for _, sql := range []string{"CREATE ROLE " + name + " LOGIN", "CREATE DATABASE " + name + " OWNER " + name} {
		if _, err := c.Exec(ctx, sql); err != nil && !strings.Contains(err.Error(), "already exists") {
			return "", err
		}
	}
	return s.url(name, name), nil
}

// Superuser is the address of a database for the role nothing binds.
func (s *Server) Superuser(database string) string { return s.url("root", database) }
