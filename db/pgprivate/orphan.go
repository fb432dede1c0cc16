//go:build unix

package pgprivate

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// endOrphan stops a server that a killed process left running in the folder,
// and clears away a pid file whose number now belongs to somebody else. The
// caller holds the folder's lock, so nobody alive is using such a server.
//
// A process gets a signal only when its command line shows a server of this
// very cluster: a pid file survives a restart of the machine, its number may
// by then be anybody's.
func (s *Server) endOrphan(ctx context.Context) error {
	pidFile := filepath.Join(s.home.cluster(), "postmaster.pid")
	pid, err := readPID(pidFile)
	if errors.Is(err, os.ErrNotExist) {
		return nil
	} else if err != nil {
		return fmt.Errorf("private Postgres: %w", err)
	}
	if !alive(pid) {
		return nil // Postgres itself deals with a stale file, and looks for stray children too
	}
	ours, err := s.serves(pid)
	if err != nil {
		return err
	}
	if !ours {
		// Postgres would take a live process for its own and refuse to start.
		s.opts.Logger.Warn("removing a stale pid file, its number is another process's", "pid", pid)
		return os.Remove(pidFile)
	}
	s.opts.Logger.Warn("stopping the Postgres left by a killed process", "pid", pid)
	for _, how := range []struct {
		signal  syscall.Signal
		patient time.Duration
	}{{syscall.SIGINT, 30 * time.Second}, {syscall.SIGQUIT, 10 * time.Second}} {
		if err := syscall.Kill(pid, how.signal); err != nil && !errors.Is(err, syscall.ESRCH) {
			return fmt.Errorf("private Postgres: stop process %d: %w", pid, err)
		}
		for end := time.Now().Add(how.patient); time.Now().Before(end); {
			if ours, err := s.serves(pid); err != nil || !ours {
				return err
			}
			select {
			case <-ctx.Done():
				return fmt.Errorf("private Postgres: waiting for process %d to stop: %w", pid, ctx.Err())
			case <-time.After(20 * time.Millisecond):
			}
		}
	}
	return fmt.Errorf("private Postgres: process %d, left by a killed tapeline, does not stop", pid)
}

func readPID(file string) (int, error) {
	b, err := os.ReadFile(file)
	if err != nil {
		return 0, err
	}
	line, _, _ := bytes.Cut(b, []byte("\n"))
	pid, err := strconv.Atoi(string(bytes.TrimSpace(line)))
	if err != nil || pid <= 1 {
		return 0, fmt.Errorf("%s names no process: %q", file, line)
	}
	return pid, nil
}

func alive(pid int) bool {
	err := syscall.Kill(pid, 0)
	return err == nil || errors.Is(err, syscall.EPERM)
}

// serves reports whether the process is a Postgres of this cluster. A zombie
// has no command line and serves nothing. A Postgres of what looks like
// another cluster is an error: the same folder may be known by two names, and
// two servers on one cluster would destroy it.
func (s *Server) serves(pid int) (bool, error) {
	line, err := commandLine(pid)
	if err != nil {
		return false, fmt.Errorf("private Postgres: process %d: %w", pid, err)
	}
	program, _, _ := strings.Cut(line, " -")
	if filepath.Base(strings.TrimSpace(program)) != "postgres" {
		return false, nil
	}
	if strings.Contains(line+" ", " -D "+s.home.cluster()+" ") {
		return true, nil
	}
	return false, fmt.Errorf("private Postgres: %s/postmaster.pid names process %d, a Postgres that was started "+
		"otherwise (%s): "+
		"stop it, or remove the file if that process has nothing to do with this folder", s.home.cluster(), pid, line)
}

// commandLine returns the command line of a process, arguments separated by spaces;
// it is empty if the process is gone or a zombie.
func commandLine(pid int) (string, error) {
	if _, err := os.Stat("/proc/self/cmdline"); err == nil {
		b, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", pid))
		if errors.Is(err, os.ErrNotExist) || errors.Is(err, syscall.ESRCH) {
			return "", nil
		}
		return strings.TrimSpace(strings.ReplaceAll(string(b), "\x00", " ")), err
	}
	out, err := exec.Command("ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid)).Output() // macOS, BSD
	if _, exited := errors.AsType[*exec.ExitError](err); exited {
		return "", nil // no such process
	}
	return strings.TrimSpace(string(out)), err
}
