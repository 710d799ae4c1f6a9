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
	settings []string
	who      *syscall.Credential
	process  *exec.Cmd
	log      *os.File
	made     atomic.Int64
}

// Options are what a server may be given; the zero value is one in a new folder that is
// reached by its socket alone.
type Options struct {
	// Parent is the folder its own is made in; empty is that of temporary files.
	Parent string
	// Listen is an address it answers at besides, to anybody who reaches it: one of a
	// network of the test's own, in which it is then started.
	Listen string
}

// Start makes a server and waits until it answers. ErrMissing where there is none.
func Start(ctx context.Context) (*Server, error) { return StartWith(ctx, Options{}) }

// StartWith is Start with options.
func StartWith(ctx context.Context, o Options) (*Server, error) {
	bin, err := programs()
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp(o.Parent, "pg")
	if err != nil {
		return nil, err
	}
	s := &Server{dir: dir, bin: bin, settings: []string{"listen_addresses=" + o.Listen, "max_connections=200"}}
	if err := s.owned(); err != nil {
		return nil, errors.Join(err, s.Stop())
	}
	init := s.command(ctx, "initdb", "--pgdata", s.data(), "--username", "root", "--auth", "trust", "--encoding", "UTF8", "--locale", "C.UTF-8", "--no-sync")
	if out, err := init.CombinedOutput(); err != nil {
		return nil, errors.Join(fmt.Errorf("making a database: %w\n%s", err, out), s.Stop())
	}
	if o.Listen != "" {
		if err := s.trust(); err != nil {
			return nil, errors.Join(err, s.Stop())
		}
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

// trust lets in who comes from the server's own networks; initdb does so for loopback.
func (s *Server) trust() error {
	f, err := os.OpenFile(filepath.Join(s.data(), "pg_hba.conf"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		return err
	}
	_, err = f.WriteString("host all all samenet trust\n")
	return errors.Join(err, f.Close())
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
	args := []string{"-D", s.data(), "-k", s.dir}
	for _, set := range s.settings {
		args = append(args, "-c", set)
	}
	s.process = s.command(context.WithoutCancel(ctx), "postgres", args...)
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

// Kill ends the server as a power cut would: every process at once, nothing finished.
// The first is stopped meanwhile, so that it starts no other.
func (s *Server) Kill() error {
	if s.process == nil {
		return nil
	}
	first := s.process.Process.Pid
	err := syscall.Kill(first, syscall.SIGSTOP)
	children, readErr := os.ReadFile(fmt.Sprintf("/proc/%d/task/%d/children", first, first))
	for child := range strings.FieldsSeq(string(children)) {
		if pid, err := strconv.Atoi(child); err == nil {
			_ = syscall.Kill(pid, syscall.SIGKILL) // it may just have ended
		}
	}
	return errors.Join(err, readErr, s.end(syscall.SIGKILL))
}

// end signals the first process and waits until it is gone.
func (s *Server) end(sig syscall.Signal) error {
	if s.process == nil {
		return nil
	}
	if err := s.process.Process.Signal(sig); err != nil && !errors.Is(err, os.ErrProcessDone) {
		return err
	}
	_ = s.process.Wait() // it ended by a signal
	s.process = nil
	return s.log.Close()
}

// Stop ends the server and takes its folder away. It is let clear its memory away, which
// outlives a killed one.
func (s *Server) Stop() error {
	return errors.Join(s.end(syscall.SIGQUIT), os.RemoveAll(s.dir))
}

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

// Over is an address Database gave, reached at one of the server's own instead of by
// its socket.
func (s *Server) Over(listen, address string) string {
	return strings.Replace(address, "?host="+s.dir, "?host="+listen, 1)
}

// Superuser is the address of a database for the role nothing binds.
func (s *Server) Superuser(database string) string { return s.url("root", database) }
