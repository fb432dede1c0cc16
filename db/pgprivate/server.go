//go:build unix

// Package pgprivate runs a Postgres server of tapeline's own, for a machine
// that has no database: one data folder, one port on loopback, one generated
// password.
//
// The server is a child process with its own process group, so that an
// interrupt at the terminal reaches tapeline first and the server is stopped
// last. It keeps running when tapeline is killed outright; the next Start on
// the folder stops it in an orderly way and starts anew on its data. When the
// server dies under a running tapeline, it is started again on the same port.
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
	Dir         string            // data folder; made when missing
	BinDir      string            // folder of postgres and initdb; "" looks in the usual places, then downloads
	Account     string            // whom to run as under root; "" is postgres, else nobody
	Port        int               // on loopback; 0 takes any that is free
	Settings    map[string]string // server settings beside or instead of this package's
	DownloadURL string            // repository to download binaries from; "" is the embedded-postgres default
	Logger      *slog.Logger      // nil discards
}

// Server is a running private server.
type Server struct {
	opts     Options
	home     folder
	binaries binaries
	account  *account // nil: as ourselves
	password string
	port     int

	lock    *os.File
	stop    chan struct{} // closed by Stop
	stopped chan struct{} // closed when the process is gone and will not come back
	once    sync.Once

	mu      sync.Mutex
	process *process
}

// DatabaseName is the database that a new folder is given.
const DatabaseName = "tapeline"

const userName = "tapeline"

// Start makes the data folder if need be, ends a server left over from a
// killed process, and starts one. It returns when the server answers, which
// after a crash takes as long as recovery does; ctx bounds it. The error is
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

// URL is the connection string of the server's database, password included.
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

// Port is the server's port on 127.0.0.1.
func (s *Server) Port() int { return s.port }

// PID is the process id of the server at this moment.
func (s *Server) PID() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.process.pid()
}

// Stop ends the server: sessions are broken off, what is committed is written
// (Postgres' fast shutdown). When ctx runs out first, the server is stopped at
// once and recovers at its next start; nothing committed is lost either way.
func (s *Server) Stop(ctx context.Context) error {
	s.once.Do(func() { close(s.stop) })
	s.mu.Lock()
	err := s.process.end(ctx)
	s.mu.Unlock()
	<-s.stopped
	return errors.Join(err, os.Remove(s.home.urlFile()), s.lock.Close())
}

// supervise starts the server again whenever it ends unasked.
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
		// A server that ran for a while has earned a quick restart.
		if time.Since(p.started) > time.Minute {
			pause = shortest
		}
		select {
		case <-s.stop:
			return
		case <-time.After(pause):
		}
		pause = min(2*pause, longest)
		s.opts.Logger.Error("private Postgres ended unasked, starting it again",
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

// folder is the data folder: the cluster, and beside it what the server's
// account may not read.
type folder string

func (f folder) cluster() string    { return filepath.Join(string(f), "postgres") }
func (f folder) unfinished() string { return filepath.Join(string(f), "postgres.new") }
func (f folder) binaries() string   { return filepath.Join(string(f), "binaries") }
func (f folder) logFile() string    { return filepath.Join(string(f), "postgres.log") }
func (f folder) urlFile() string    { return filepath.Join(string(f), "postgres.url") }
func (f folder) password() string   { return filepath.Join(string(f), "postgres.password") }
func (f folder) lockFile() string   { return filepath.Join(string(f), "lock") }
