//go:build unix

package pgprivate

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// settings are given on the command line, where they go before those of the
// cluster's postgresql.conf; all others can be set there.
func (s *Server) settings(port int) map[string]string {
	all := map[string]string{
		"listen_addresses":        "127.0.0.1",
		"unix_socket_directories": "",
		"port":                    strconv.Itoa(port),
		// An acknowledged order is on the disk. These are Postgres' defaults, stated because
		// turning them off is a common way to improve a benchmark.
		"fsync":              "on",
		"synchronous_commit": "on",
		"full_page_writes":   "on",
		// Terse leaves out the details of an error, which hold the row's values: names and
		// measurements stay out of the log.
		"log_error_verbosity":               "terse",
		"log_parameter_max_length":          "0",
		"log_parameter_max_length_on_error": "0",
		"log_checkpoints":                   "off",
		"log_timezone":                      "UTC",
		"timezone":                          "UTC",
		"wal_compression":                   "on",
		// The queue's tables turn over in minutes, and plans made while a table was small must not stay.
		"autovacuum_naptime": "15s",
		"jit":                "off", // every query is short
	}
	maps.Copy(all, s.opts.Settings)
	return all
}

// process is one run of the server.
type process struct {
	cmd     *exec.Cmd
	started time.Time
	done    chan struct{} // closed when it has ended
}

func (p *process) pid() int      { return p.cmd.Process.Pid }
func (p *process) state() string { return p.cmd.ProcessState.String() }

// launch starts the server without waiting for it to accept connections.
func (s *Server) launch(port int) (*process, error) {
	log, err := s.home.openLog()
	if err != nil {
		return nil, fmt.Errorf("private Postgres: %w", err)
	}
	defer log.Close() // the child has its own
	args := []string{"-D", s.home.cluster()}
	settings := s.settings(port)
	for _, name := range slices.Sorted(maps.Keys(settings)) {
		args = append(args, "-c", name+"="+settings[name])
	}
	cmd := exec.Command(filepath.Join(s.binaries.dir, "postgres"), args...)
	cmd.Dir = s.home.cluster()
	cmd.Env = environment()
	cmd.Stdout, cmd.Stderr = log, log // a file, not a pipe, because it outlives us
	cmd.SysProcAttr = s.account.attributes()
	if err := cmd.Start(); err != nil {
		return nil, fmt.Errorf("private Postgres: %w", err)
	}
	p := &process{cmd: cmd, started: time.Now(), done: make(chan struct{})}
	go func() {
		_ = cmd.Wait() // how it ended is in cmd.ProcessState
		close(p.done)
	}()
	return p, nil
}

// launchOnPort starts the server and waits until it accepts connections. If the free
// port is taken meanwhile, it tries another.
func (s *Server) launchOnPort(ctx context.Context) error {
	for range 5 {
		s.port = s.opts.Port
		if s.port == 0 {
			var err error
			if s.port, err = freePort(); err != nil {
				return err
			}
		}
		p, err := s.launch(s.port)
		if err != nil {
			return err
		}
		s.process = p
		err = s.awaitReady(ctx, p)
		switch {
		case err == nil:
			return nil
		case ctx.Err() != nil:
			return errors.Join(err, abandon(p))
		case s.opts.Port != 0 || !taken(s.port):
			return err
		}
	}
	return errors.New("private Postgres: found no free port on 127.0.0.1")
}

func taken(port int) bool {
	l, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err == nil {
		l.Close()
	}
	return err != nil
}

// awaitReady returns when the server accepts a connection.
func (s *Server) awaitReady(ctx context.Context, p *process) error {
	var last error
	for {
		try, cancel := context.WithTimeout(ctx, 5*time.Second)
		conn, err := pgx.Connect(try, s.urlOf("postgres"))
		cancel()
		if err == nil {
			return conn.Close(ctx)
		}
		last = err
		select {
		case <-p.done:
			log, _ := os.ReadFile(s.home.logFile())
			return fmt.Errorf("private Postgres ended while starting (%s): %s", p.state(), lastLines(log, 5))
		case <-ctx.Done():
			return fmt.Errorf("private Postgres: waiting for it to answer: %w (last: %w)", ctx.Err(), last)
		case <-time.After(20 * time.Millisecond):
		}
	}
}

// end stops the process by a fast shutdown, and at once if ctx ends.
func (p *process) end(ctx context.Context) error {
	_ = p.cmd.Process.Signal(syscall.SIGINT) // an error says that it is gone already
	select {
	case <-p.done:
		return nil
	case <-ctx.Done():
	}
	_ = p.cmd.Process.Signal(syscall.SIGQUIT)
	select {
	case <-p.done:
		return nil
	case <-time.After(10 * time.Second):
	}
	return errors.Join(errors.New("private Postgres did not stop and was killed"), p.cmd.Process.Kill())
}

// abandon stops a process that did not start to serve.
func abandon(p *process) error {
	ctx, cancel := context.WithTimeout(context.Background(), 10*time.Second)
	defer cancel()
	return p.end(ctx)
}

// openLog opens the server's log and renames one that has grown large.
func (f folder) openLog() (*os.File, error) {
	const large = 10 << 20
	if info, err := os.Stat(f.logFile()); err == nil && info.Size() > large {
		if err := os.Rename(f.logFile(), f.logFile()+".1"); err != nil {
			return nil, err
		}
	}
	return os.OpenFile(f.logFile(), os.O_WRONLY|os.O_CREATE|os.O_APPEND, 0o600)
}
