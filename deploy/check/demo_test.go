package check

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
)

// programOnce builds the program for tests that only run it.
var programOnce = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "tapeline-check-")
	if err != nil {
		return "", err
	}
	file := filepath.Join(dir, "tapeline")
	build := exec.Command("go", "build", "-o", file, "./cmd/tapeline")
	build.Dir = "../.."
	if out, err := build.CombinedOutput(); err != nil {
		return "", &buildError{err, out}
	}
	return file, nil
})

type buildError struct {
	error
	out []byte
}

func (e *buildError) Error() string { return e.error.Error() + "\n" + string(e.out) }

func TestMain(m *testing.M) {
	code := m.Run()
	if file, err := programOnce(); err == nil {
		_ = os.RemoveAll(filepath.Dir(file))
	}
	os.Exit(code)
}

// folder returns an empty folder that the account of a private PostgreSQL can enter.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "tapeline-deploy-")
	if err == nil {
		err = os.Chmod(dir, 0o711)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	return dir
}

// run starts a command of the program that serves, and returns its address once it
// says so. The command is stopped at the end of the test.
func run(t *testing.T, args ...string) (address string) {
	t.Helper()
	file, err := programOnce()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(file, args...)
	var log bytes.Buffer
	cmd.Stderr = &log
	stdout, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Signal(syscall.SIGTERM)
		_ = cmd.Wait()
	})
	said := regexp.MustCompile(`(?:serves|runs on at) (http://[0-9.:]+)`)
	lines := bufio.NewScanner(stdout)
	for lines.Scan() {
		if found := said.FindStringSubmatch(lines.Text()); found != nil {
			go func() { _, _ = io.Copy(io.Discard, stdout) }()
			return found[1]
		}
	}
	t.Fatalf("tapeline %s did not serve: %s", strings.Join(args, " "), &log)
	return ""
}

// demo takes an order through a server on a data folder, and leaves the server
// running.
func demo(t *testing.T, data string) (address string) {
	t.Helper()
	return run(t, "demo", "-addr", "127.0.0.1:0", "-data", data, "-o", filepath.Join(filepath.Dir(data), "demo.pdf"))
}
