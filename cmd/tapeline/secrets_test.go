package main

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"tapeline/db/dbtest"
)

// The secrets that the commands of these tests are given.
const password = "S3cretWord"

var sealingKey = base64.StdEncoding.EncodeToString([]byte("a sealing key of thirty-two byte"))

// hasSecret returns the secret that a text shows, or "".
func hasSecret(text string) string {
	for _, s := range []string{password, sealingKey, sealingKey[:20]} {
		if strings.Contains(text, s) {
			return s
		}
	}
	return ""
}

// No command shows a secret of its environment or flags: not in its help, not
// beside a wrong flag, and not when it cannot connect.
func TestNoSecretInOutput(t *testing.T) {
	t.Parallel()
	file, err := buildOnce()
	if err != nil {
		t.Fatal(err)
	}
	address := "postgres://me:" + password + "@127.0.0.1:1/none"
	good := []string{"DATABASE_URL=" + address, "TAPELINE_SECRET_KEY=" + sealingKey,
		"TAPELINE_API_KEY=tl_abcdefgh_" + password, "TAPELINE_API=http://me:" + password + "@127.0.0.1:1"}
	run := func(env []string, args ...string) {
		cmd := exec.CommandContext(t.Context(), file, args...)
		cmd.Env = append(os.Environ(), env...)
		out, _ := cmd.CombinedOutput()
		if s := hasSecret(string(out)); s != "" {
			t.Errorf("tapeline %v shows %s:\n%s", args, s, out)
		}
		if len(out) == 0 {
			t.Errorf("tapeline %v prints nothing", args)
		}
	}
	for _, c := range commands() {
		run(good, c.name, "-h")
		run(good, c.name, "-no-such-flag")
		run(good, c.name, "-addr", "nowhere", "unexpected")
	}
	for _, args := range [][]string{{"serve"}, {"serve", "-addr", "nowhere"}, {"serve", "-log-level", "debug"},
		{"migrate"}, {"migrate", "-check"}, {"keys", "shops"}, {"keys", "list", "-shop", "needle-nook"}, {"keys", "reseal"},
		{"refit", "list"}, {"demo", "-exit", "-db-conns", "1"}} {
		run(good, args...)
	}
	for _, database := range []string{
		"mysql://me:" + password + "@127.0.0.1:1/none",
		"host=127.0.0.1 port=1 user=me password=" + password,
		"postgres://me:" + password + "@127.0.0.1:port/none",
		"postgres://127.0.0.1:1/none?user=me&password=" + password,
		"postgres://me:" + password + "@127.0.0.1:1/none?sslmode=perhaps",
	} {
		for _, command := range [][]string{{"serve", "-log-level", "debug"}, {"migrate"}, {"keys", "shops"}} {
			run([]string{"DATABASE_URL=" + database}, command...)
			run(nil, append(command, "-database", database)...)
		}
	}
	for _, key := range []string{sealingKey + "," + sealingKey[:20], sealingKey[:20], "base64:" + sealingKey} {
		run([]string{"DATABASE_URL=" + address, "TAPELINE_SECRET_KEY=" + key}, "serve")
		run([]string{"DATABASE_URL=" + address, "TAPELINE_SECRET_KEY=" + key}, "keys", "reseal")
	}
}

// commandLines returns the command lines of a process and all its descendants.
func commandLines(t *testing.T, pid int) (all string) {
	t.Helper()
	line, err := os.ReadFile(fmt.Sprintf("/proc/%d/cmdline", pid))
	if err != nil {
		t.Skipf("no list of processes: %v", err)
	}
	tasks, _ := filepath.Glob(fmt.Sprintf("/proc/%d/task/*/children", pid))
	all = string(bytes.ReplaceAll(line, []byte{0}, []byte(" "))) + "\n"
	for _, task := range tasks {
		children, _ := os.ReadFile(task)
		for _, child := range strings.Fields(string(children)) {
			var id int
			if _, err := fmt.Sscan(child, &id); err == nil {
				all += commandLines(t, id)
			}
		}
	}
	return all
}

// A server and its private PostgreSQL show no secret in the list of processes. A
// second server is refused the data folder, which other commands may use.
func TestDataFolderHasOneServer(t *testing.T) {
	t.Parallel()
	dir, err := os.MkdirTemp("", "tapeline-folder-") // not t.TempDir, which another account cannot enter
	if err == nil {
		err = os.Chmod(dir, 0o755)
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	data := filepath.Join(dir, "data")
	server := serve(t, "", "-data", data)
	text, err := os.ReadFile(filepath.Join(data, "postgres.url"))
	if err != nil {
		t.Fatal(err)
	}
	address, err := url.Parse(strings.TrimSpace(string(text)))
	if err != nil {
		t.Fatal(err)
	}
	secret, _ := address.User.Password()
	lines := commandLines(t, server.cmd.Process.Pid)
	if secret == "" || strings.Contains(lines, secret) || !strings.Contains(lines, "postgres") {
		t.Errorf("the list of processes:\n%s", lines)
	}
	tapeline(t, "", "serve", "-data", data, "-addr", "127.0.0.1:0").want(t, exitFaults, "data folder is in use",
		"a data folder of its own")
	tapeline(t, "", "keys", "add", "-data", data, "-shop", "needle-nook", "-role", "staff").want(t, exitDone)
	tapeline(t, "", "migrate", "-check", "-data", data).want(t, exitDone, "up to date")
}

// A server whose database is named by the environment does not show it in the
// list of processes.
func TestEnvironmentStaysOutOfProcessList(t *testing.T) {
	address := dbtest.URL(t)
	t.Setenv("DATABASE_URL", address)
	server := serve(t, "")
	if lines := commandLines(t, server.cmd.Process.Pid); strings.Contains(lines, "postgres://") {
		t.Errorf("the list of processes:\n%s", lines)
	}
}
