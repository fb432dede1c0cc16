package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// server is the server under test, on a private Postgres.
type server struct {
	process
	dir    string // of all its files
	data   string
	bin    string
	keep   bool
	others []process // replicas on its database
}

// process is a server at work.
type process struct {
	base       string // http://host:port
	operations string // likewise, of metrics and profiles
	cmd        *exec.Cmd
}

var serving = regexp.MustCompile(`serves (http://\S+)`)

// startServer starts a server, with further flags of serve.
func startServer(ctx context.Context, keep bool, flags ...string) (_ *server, err error) {
	s := &server{keep: keep}
	if s.dir, err = os.MkdirTemp("", "tapeline-load-"); err != nil {
		return nil, err
	}
	if err := os.Chmod(s.dir, 0o755); err != nil { // as root, Postgres runs as another account
		return nil, err
	}
	s.bin, s.data = filepath.Join(s.dir, "tapeline"), filepath.Join(s.dir, "data")
	if out, err := exec.CommandContext(ctx, "go", "build", "-o", s.bin, "./cmd/tapeline").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("build tapeline: %w: %s", err, out)
	}
	s.process, err = s.serve(ctx, append([]string{"-data", s.data}, flags...))
	return s, err
}

// serve starts a process that serves.
func (s *server) serve(ctx context.Context, flags []string) (p process, err error) {
	log, err := os.CreateTemp(s.dir, "tapeline-*.log")
	if err != nil {
		return p, err
	}
	operations, err := freeAddress()
	if err != nil {
		return p, err
	}
	p.operations = "http://" + operations
	p.cmd = exec.CommandContext(ctx, s.bin, append([]string{"serve", "-addr", "127.0.0.1:0", "-rate", "0",
		"-private-webhooks", "-log-level", "warn", "-metrics-addr", operations}, flags...)...)
	p.cmd.Stderr = log
	p.cmd.Cancel = func() error { return p.cmd.Process.Signal(syscall.SIGTERM) }
	p.cmd.WaitDelay = 30 * time.Second
	stdout, err := p.cmd.StdoutPipe()
	if err != nil {
		return p, err
	}
	if err := p.cmd.Start(); err != nil {
		return p, err
	}
	line, err := bufio.NewReader(stdout).ReadString('\n')
	found := serving.FindStringSubmatch(line)
	if found == nil {
		said, _ := os.ReadFile(log.Name())
		_, _ = p.stop()
		return p, fmt.Errorf("tapeline did not start: %w: %s", err, said)
	}
	p.base = found[1]
	return p, nil
}

// freeAddress returns an address of this machine at which nothing listens.
func freeAddress() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	return l.Addr().String(), l.Close()
}

// profile writes a profile of the processor time that the process takes for some
// seconds.
func (p process) profile(ctx context.Context, name string, length time.Duration) error {
	request, err := http.NewRequestWithContext(ctx, http.MethodGet,
		fmt.Sprintf("%s/debug/pprof/profile?seconds=%d", p.operations, int(length.Seconds())), nil)
	if err != nil {
		return err
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	file, err := os.Create(name)
	if err != nil {
		return err
	}
	_, err = io.Copy(file, answer.Body)
	return errors.Join(err, file.Close())
}

// addReplicas starts n more servers on the database.
func (s *server) addReplicas(ctx context.Context, n int) error {
	url, err := s.databaseURL()
	for range n {
		var p process
		if err == nil {
			p, err = s.serve(ctx, []string{"-database", url})
		}
		if err != nil {
			return err
		}
		s.others = append(s.others, p)
	}
	return nil
}

// stop ends the process by SIGTERM and returns how long that took and what it ended
// with.
func (p process) stop() (took time.Duration, err error) {
	began := time.Now()
	_ = p.cmd.Process.Signal(syscall.SIGTERM)
	err = p.cmd.Wait()
	return time.Since(began), err
}

// stop ends the replicas, then the server with its database. It returns how long that
// took and what it ended with.
func (s *server) stop() (took time.Duration, err error) {
	for _, p := range s.others {
		_, _ = p.stop()
	}
	took, err = s.process.stop()
	if s.keep {
		fmt.Println("kept:", s.dir)
		return took, err
	}
	_ = os.RemoveAll(s.dir)
	return took, err
}

// key adds an API key of a role for a shop.
func (s *server) key(ctx context.Context, shop, role string) (string, error) {
	out, err := exec.CommandContext(ctx, s.bin, "keys", "add", "-data", s.data, "-shop", shop, "-role",
		role).Output()
	if err != nil {
		return "", fmt.Errorf("make a key: %w", err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	return lines[len(lines)-1], nil
}

// databaseURL returns the URL of the private Postgres.
func (s *server) databaseURL() (string, error) {
	b, err := os.ReadFile(filepath.Join(s.data, "postgres.url"))
	return strings.TrimSpace(string(b)), err
}

// watchMemory samples the server's resident memory until the returned function is
// called, which returns the maximum in bytes.
func (s *server) watchMemory(ctx context.Context) func() int64 {
	ctx, cancel := context.WithCancel(ctx)
	peak := make(chan int64)
	go func() {
		most := int64(0)
		for {
			most = max(most, s.resident())
			select {
			case <-ctx.Done():
				peak <- most
				return
			case <-time.After(100 * time.Millisecond):
			}
		}
	}()
	return func() int64 { cancel(); return <-peak }
}

// resident returns the process's resident memory (proc(5): VmRSS).
func (p process) resident() int64 {
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	for line := range bytes.Lines(status) {
		if rest, ok := strings.CutPrefix(string(line), "VmRSS:"); ok {
			kb, _ := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			return kb << 10
		}
	}
	return 0
}
