package dbtest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"time"

	"tapeline/db/pgprivate"
)

// A test program ends in ways that run no code of ours: a panic, a time-out, a
// kill. So a second process cleans up after it: the test program again, which
// reads from a pipe until that closes, as it does with the first process,
// however it ends.

// leftover is something to clean up: a folder with a server in it, or the
// databases of a server that is not ours.
type leftover struct {
	Dir         string `json:",omitempty"`
	URL, Prefix string `json:",omitempty"`
}

const watchdogVariable = "TAPELINE_DBTEST_WATCHDOG"

// An init function, since a test program's main is not ours to write.
func init() {
	text := os.Getenv(watchdogVariable)
	if text == "" {
		return
	}
	var l leftover
	if err := json.Unmarshal([]byte(text), &l); err != nil {
		fmt.Fprintln(os.Stderr, "dbtest watchdog:", err)
		os.Exit(1)
	}
	_, _ = io.Copy(io.Discard, os.Stdin)
	if err := l.clean(); err != nil {
		os.Exit(1) // nobody is left to read why
	}
	os.Exit(0)
}

func (l leftover) clean() error {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if l.URL != "" {
		return dropAll(ctx, l.URL, l.Prefix)
	}
	err := pgprivate.StopLeftover(ctx, l.Dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil // the test cleaned up itself
	}
	return errors.Join(err, os.RemoveAll(l.Dir))
}

// leash holds the pipes' ends for as long as this process lives.
var leash struct {
	sync.Mutex
	ends []*os.File
}

// watch starts a watchdog for l.
func watch(l leftover) error {
	text, err := json.Marshal(l)
	if err != nil {
		return err
	}
	program, err := os.Executable()
	if err != nil {
		return err
	}
	read, write, err := os.Pipe()
	if err != nil {
		return err
	}
	defer read.Close()
	cmd := exec.Command(program)
	cmd.Env = append(os.Environ(), watchdogVariable+"="+string(text))
	cmd.Dir = "/"
	cmd.Stdin = read
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true} // an interrupt at the terminal is not for it
	if err := cmd.Start(); err != nil {
		return errors.Join(err, write.Close())
	}
	leash.Lock()
	leash.ends = append(leash.ends, write)
	leash.Unlock()
	go func() { _ = cmd.Wait() }() // it outlives the tests; its exit status is no news
	return nil
}
