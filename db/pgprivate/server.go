//go:build unix

// Package pgprivate runs a private Postgres server for a machine without a
// database: one data folder, one port on loopback, one generated password.
//
// The server is a child process with its own process group, so that an
// interrupt at the terminal reaches tapeline first and the server is stopped
// last. If tapeline is killed, the server keeps running; the next Start on the
// folder stops it and starts a new one on its data. If the server dies, it is
// started again on the same port.
//
// As root the server and its tools run as an unprivileged account, since
// Postgres refuses to run as root.
package pgprivate

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"time"
)

// Options say where and how the server runs.
type Options struct {
	Dir         string            // data folder; created if missing
	BinDir      string            // folder of postgres and initdb; "" looks in the usual places, then downloads
	Account     string            // account to run as under root; "" is postgres or nobody
	Port        int               // on loopback; 0 is any free port
	Settings    map[string]string // server settings that add to or replace those of this package
	DownloadURL string            // repository to download binaries from; "" is the embedded-postgres default
	Logger      *slog.Logger      // nil discards
}

// Server is a running private server.
type Server struct {
	opts     Options
	home     folder
	binaries binaries
	account  *account // nil: our own
	password string
	port     int

	lock    *os.File
	stop    chan struct{} // closed by Stop
	stopped chan struct{} // closed when the process has ended for good
	once    sync.Once

	mu      sync.Mutex
	process *process
}

// DatabaseName is the database of a new folder.
const DatabaseName = "tapeline"

const userName = "tapeline"

// Start creates the data folder if it is missing, stops a server left over from a
// killed process, and starts one. It returns when the server accepts connections,
// which after a crash takes as long as its recovery; ctx bounds it. The error is
// ErrInUse (wrapped) when another live process has the folder.
func Start(ctx context.Context, opts Options) (_ *Server, err error) {
	if opts.Logger == nil {
		opts.Logger = slog.New(slog.DiscardHandler)
	}
	s := &Server{opts: opts, stop: make(chan struct{}), stopped: make(chan struct{})}
	if s.account, err = unprivileged(opts.Account); err != nil {
		return nil, err
	}
	if s.home, err = openFolder(opts.Dir, s.account); err != nil {
		return nil, err
	}
	if s.lock, err = s.home.lock(); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			s.lock.Close()
		}
	}()
	if s.binaries, err = s.findBinaries(ctx); err != nil {
		return nil, err
	}
	if err = s.endOrphan(ctx); err != nil {
		return nil, err
	}
	if err = s.initialize(ctx); err != nil {
		return nil, err
	}
	if err = s.launchOnPort(ctx); err != nil {
		return nil, err
	}
	if err = s.afterLaunch(ctx); err != nil {
		return nil, errors.Join(err, abandon(s.process))
	}
	go s.supervise()
	return s, nil
}

// afterLaunch makes the database on a first start and leaves the address for
// the operator's psql and pg_dump.
func (s *Server) afterLaunch(ctx context.Context) error {
	if err := s.createDatabase(ctx); err != nil {
		return err
	}
	return os.WriteFile(s.home.urlFile(), []byte(s.URL()+"\n"), 0o600)
}

// StopLeftover stops a server that a killed process left running in the data
// folder, if there is one. The error is ErrInUse (wrapped) when a live process
// has the folder.
func StopLeftover(ctx context.Context, dir string) error {
	s := &Server{opts: Options{Logger: slog.New(slog.DiscardHandler)}}
	var err error
	if s.home, err = resolve(dir); err != nil {
		return err
	}
	if s.lock, err = s.home.lock(); err != nil {
		return err
	}
	defer s.lock.Close()
	return s.endOrphan(ctx)
}

// URL returns the connection string of the server's database, with its password.
func (s *Server) URL() string { return s.urlOf(DatabaseName) }

func (s *Server) urlOf(database string) string {
	u := url.URL{
		Scheme:   "postgres",
		User:     url.UserPassword(userName, s.password),
		Host:     fmt.Sprintf("127.0.0.1:%d", s.port),
		Path:     "/" + database,
		RawQuery: "sslmode=disable",
	}
	return u.String()
}

// Port returns the server's port on 127.0.0.1.
func (s *Server) Port() int { return s.port }

// PID returns the current process ID of the server.
func (s *Server) PID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.process.pid()
}

// Stop stops the server by a fast shutdown: it ends all sessions and writes what is
// committed. If ctx ends first, the server is stopped at once and recovers at its
// next start; nothing committed is lost either way.
func (s *Server) Stop(ctx context.Context) error {
	s.once.Do(func() { close(s.stop) })
	s.mu.Lock()
	err := s.process.end(ctx)
	s.mu.Unlock()
	<-s.stopped
	return errors.Join(err, os.Remove(s.home.urlFile()), s.lock.Close())
}

// supervise starts the server again whenever it ends unexpectedly.
func (s *Server) supervise() {
	defer close(s.stopped)
	const shortest, longest = 100 * time.Millisecond, 5 * time.Second
	pause := shortest
	for {
		s.mu.Lock()
		p := s.process
		s.mu.Unlock()
		select {
		case <-s.stop:
			<-p.done
			return
		case <-p.done:
		}
		// A server that ran for a while is restarted quickly.
		if time.Since(p.started) > time.Minute {
			pause = shortest
		}
		select {
		case <-s.stop:
			return
		case <-time.After(pause):
		}
		pause = min(2*pause, longest)
		s.opts.Logger.Error("private Postgres ended unexpectedly, starting it again",
			"state", p.state(), "log", s.home.logFile())
		s.relaunch()
	}
}

func (s *Server) relaunch() {
	s.mu.Lock()
	defer s.mu.Unlock()
	select {
	case <-s.stop: // Stop came first and found the old process: nothing may be started behind it
		return
	default:
	}
	p, err := s.launch(s.port)
	if err != nil {
		s.opts.Logger.Error("private Postgres did not start", "error", err)
		return
	}
	s.process = p
}

// folder is the data folder: the cluster, and files that the server's account may
// not read.
type folder string

func (f folder) cluster() string    { return filepath.Join(string(f), "postgres") }
func (f folder) unfinished() string { return filepath.Join(string(f), "postgres.new") }
func (f folder) binaries() string   { return filepath.Join(string(f), "binaries") }
func (f folder) logFile() string    { return filepath.Join(string(f), "postgres.log") }
func (f folder) urlFile() string    { return filepath.Join(string(f), "postgres.url") }
func (f folder) password() string   { return filepath.Join(string(f), "postgres.password") }
func (f folder) lockFile() string   { return filepath.Join(string(f), "lock") }
